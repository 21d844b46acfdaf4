/** Theme, units, and how much room the browser gives. */
import { useEffect } from "preact/hooks";
import { readyOffline } from "../offline/start-offline.ts";
import { Segments } from "../pieces/fields.tsx";
import { type Settings, settings } from "../settings.ts";
import { askToLast, measureRoom, room } from "../storage/room.ts";
import { bytes } from "../words/shown.ts";
import { ServerSettings } from "./server.tsx";

const set = (change: Partial<Settings>) => {
  settings.value = { ...settings.value, ...change };
};

export function SettingsScreen() {
  useEffect(() => void measureRoom(), []);
  const { theme, gauge, length, temperature } = settings.value;
  return (
    <>
      <h1>Settings</h1>
      <Segments
        label="Light"
        value={theme}
        choices={[
          ["auto", "As the device"],
          ["sun", "Sun"],
          ["night", "Night"],
        ]}
        onValue={(value) => set({ theme: value as Settings["theme"] })}
      />
      <Segments
        label="Wire size"
        value={gauge}
        choices={[
          ["awg", "AWG"],
          ["mm2", "mm²"],
        ]}
        onValue={(value) => set({ gauge: value as Settings["gauge"] })}
      />
      <Segments
        label="Lengths"
        value={length}
        choices={[
          ["m", "Metres"],
          ["ft", "Feet"],
        ]}
        onValue={(value) => set({ length: value as Settings["length"] })}
      />
      <Segments
        label="Temperature"
        value={temperature}
        choices={[
          ["C", "°C"],
          ["F", "°F"],
        ]}
        onValue={(value) => set({ temperature: value as Settings["temperature"] })}
      />
      <Storage />
      <ServerSettings />
    </>
  );
}

function Storage() {
  const now = room.value;
  return (
    <section aria-labelledby="room-heading" class="sheet">
      <h2 id="room-heading">Storage</h2>
      <p>
        Jobs and logs are kept in this browser, on this device. They are sent to no one but the server below, if there
        is one.
      </p>
      {now && (
        <p>
          {bytes(now.usedBytes)} used of {bytes(now.quotaBytes)} that the browser gives.{" "}
          {now.lasting
            ? "The browser has promised to keep them."
            : "The browser may clear them when the device runs short of room: export what matters."}
        </p>
      )}
      {now && !now.lasting && (
        <button type="button" onClick={() => void askToLast()}>
          Ask the browser to keep them
        </button>
      )}
      <p>
        {readyOffline.value
          ? "The app is kept in this browser and opens without a network."
          : "The app is not yet kept for use without a network."}
      </p>
    </section>
  );
}
