/** The shell: the sheet's head, the screens of a job under the thumb, and what must be said whatever is on screen. */
import { useEffect } from "preact/hooks";
import { foundLeftBehind } from "./job/left-behind.ts";
import { close, missingJob, open, openJob, saveTrouble, unsaved } from "./job/open-job.ts";
import { HelperDoor } from "./measure/live-door.tsx";
import { newVersion } from "./offline/start-offline.ts";
import { ConflictCard } from "./pieces/conflict-card.tsx";
import { UndoBar } from "./pieces/undo-bar.tsx";
import { addressOf, type JobScreen, route } from "./routes.ts";
import { DescribeScreen } from "./screens/describe.tsx";
import { FindScreen } from "./screens/find.tsx";
import { HistoryScreen } from "./screens/history.tsx";
import { JobsScreen } from "./screens/jobs.tsx";
import { MeasureScreen } from "./screens/measure.tsx";
import { RecordScreen } from "./screens/record.tsx";
import { RepairScreen } from "./screens/repair.tsx";
import { SettingsScreen } from "./screens/settings.tsx";
import { TracesScreen } from "./screens/traces.tsx";

const screens: Record<JobScreen, { words: string; Screen: () => preact.JSX.Element; mark: string }> = {
  describe: { words: "Circuit", Screen: DescribeScreen, mark: "M3 12h5M8 7h8v10H8zM16 12h5" },
  measure: { words: "Measure", Screen: MeasureScreen, mark: "M5 20L11 9M19 20L13 9M4 9a8 8 0 0 1 16 0M12 9l4-4" },
  find: { words: "Result", Screen: FindScreen, mark: "M2 5h7v4h4v10h9" },
  traces: { words: "Traces", Screen: TracesScreen, mark: "M2 8h5v8h6V6h5v7h4" },
  repair: { words: "Repair", Screen: RepairScreen, mark: "M4 12l5 5L20 6M4 20h16" },
  record: { words: "Record", Screen: RecordScreen, mark: "M6 3h9l4 4v14H6zM9 11h7M9 15h7M9 19h4" },
};

export function App() {
  const here = route.value;
  const jobId = "jobId" in here ? here.jobId : null;
  useEffect(() => {
    void (jobId ? open(jobId) : close());
  }, [jobId]);
  useEffect(() => scrollTo(0, 0), [here.screen, jobId]);
  useEffect(() => {
    document.title = openJob.value?.document.title ? `${openJob.value.document.title} · Loopwalk` : "Loopwalk";
  });

  return (
    <>
      <button type="button" class="skip" onClick={toMain}>
        Skip to the content
      </button>
      <Head />
      <Notices />
      <main id="main" tabIndex={-1} class={`screen screen-${here.screen}`}>
        {"jobId" in here ? (
          <JobContent screen={here.screen} />
        ) : here.screen === "jobs" ? (
          <JobsScreen />
        ) : here.screen === "key" ? (
          <HelperDoor />
        ) : here.screen === "history" ? (
          <HistoryScreen key={here.vehicleId} vehicleId={here.vehicleId} />
        ) : (
          <SettingsScreen />
        )}
      </main>
      <UndoBar />
      {"jobId" in here && <Tabs jobId={here.jobId} screen={here.screen} />}
    </>
  );
}

function toMain(): void {
  document.getElementById("main")?.focus();
}

function Head() {
  const job = openJob.value?.document;
  return (
    <header class="head">
      <a class="home" href="#/" aria-label="Loopwalk, all jobs">
        <svg viewBox="0 0 32 32" aria-hidden="true">
          <path class="home-feed" d="M2 6h10v6h5" />
          <path class="home-return" d="M17 26h13M17 12v14" />
        </svg>
        <span>Jobs</span>
      </a>
      {job && <p class="head-title">{job.title || "Job without a title"}</p>}
      {job && <span class="save-mark">{saveTrouble.value ? "not saved" : unsaved.value ? "saving" : "saved"}</span>}
      <a class="head-settings" href="#/settings">
        <svg viewBox="0 0 24 24" aria-hidden="true">
          <path d="M3 7h9m6 0h3M3 17h3m6 0h9M15 4v6M9 14v6" />
        </svg>
        <span>Settings</span>
      </a>
    </header>
  );
}

function Notices() {
  return (
    <div class="notices" aria-live="polite">
      {saveTrouble.value && (
        <p class="notice notice-bad" role="alert">
          {saveTrouble.value}
        </p>
      )}
      {foundLeftBehind.value > 0 && (
        <p class="notice">
          {foundLeftBehind.value === 1 ? "A live log was" : `${foundLeftBehind.value} live logs were`} being taken when
          the page was closed: what had come until then is kept with its job.{" "}
          <button
            type="button"
            onClick={() => {
              foundLeftBehind.value = 0;
            }}
          >
            Understood
          </button>
        </p>
      )}
      {newVersion.value && (
        <p class="notice">
          A new version of the app is here.{" "}
          <button type="button" onClick={() => newVersion.value?.()}>
            Use it now
          </button>
        </p>
      )}
    </div>
  );
}

function JobContent({ screen }: { screen: JobScreen }) {
  if (missingJob.value) {
    return (
      <p class="notice">
        This browser has no such job: it was deleted here, or kept on another device.{" "}
        <a href="#/">To the list of jobs</a>
      </p>
    );
  }
  if (!openJob.value) return <p>Opening the job …</p>;
  const { Screen } = screens[screen];
  const { id, document, files } = openJob.value;
  return (
    <>
      <ConflictCard id={id} mine={{ document, files }} />
      <Screen key={id} />
    </>
  );
}

function Tabs({ jobId, screen }: { jobId: string; screen: JobScreen }) {
  return (
    <nav class="tabs" aria-label="This job">
      {(Object.keys(screens) as JobScreen[]).map((name) => (
        <a key={name} href={addressOf(jobId, name)} aria-current={name === screen ? "page" : undefined}>
          <svg viewBox="0 0 24 24" aria-hidden="true">
            <path d={screens[name].mark} />
          </svg>
          {screens[name].words}
        </a>
      ))}
    </nav>
  );
}
