// What README.md and DEVELOPERS.md say is so: their commands are run as they stand, and what is printed under a command is compared.
// After a change that is meant, `README=write npx vitest run tests/docs.test.ts` puts what is printed now under the commands.
import { spawn, spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, test } from "vitest";

const root = join(import.meta.dirname, "..");
const read = (name: string) => readFileSync(join(root, name), "utf8");
const readme = read("README.md");

interface Command {
  readonly line: string;
  /** what should be printed, as it stands under the command; null where nothing does */
  readonly printed: string | null;
}

/** Every block of shell with one line is a command; a block of text before the next command is what it prints. */
function commandsOf(text: string): Command[] {
  const blocks = [...text.matchAll(/^```(\w+)\n([\s\S]*?)^```/gm)].map(([, kind, body]) => ({ kind, body: body! }));
  return blocks.flatMap(({ kind, body }, index) => {
    const next = blocks[index + 1];
    return kind === "sh" ? { line: body.trim(), printed: next?.kind === "text" ? next.body : null } : [];
  });
}

const commands = commandsOf(readme);
const environment = { ...process.env, LC_ALL: "C.UTF-8" };

test("each command does its own set-up, on one line", () => {
  expect(commands.length).toBe(3);
  for (const { line } of commands) expect(line).toMatch(/^npm install && npm [^\n]+$/);
});

describe("the commands of the README", () => {
  test("a sample job is diagnosed, and begins as printed there", () => {
    const { line, printed } = commands.find((command) => command.line.includes("diagnose"))!;
    const { status, stdout, stderr } = spawnSync("bash", ["-c", line], {
      cwd: root,
      encoding: "utf8",
      env: environment,
    });
    expect([status, stderr.replace(/^npm warn.*\n/gm, "")]).toEqual([0, ""]);
    if (process.env.README === "write")
      writeFileSync(join(root, "README.md"), readme.replace(printed!, beginning(stdout)));
    else expect(beginning(stdout)).toBe(printed);
  });

  test("the app is served where it says", { timeout: 240_000 }, async () => {
    const { line, printed } = commands.find((command) => command.line.endsWith("npm start"))!;
    const [port, data] = [await freePort(), mkdtempSync(join(tmpdir(), "readme-"))];
    const child = spawn("bash", ["-c", line], {
      cwd: root,
      detached: true,
      env: { ...environment, PORT: `${port}`, DATA_DIR: data },
    });
    try {
      const address = await new Promise<string>((resolve, reject) => {
        let said = "";
        const listen = (piece: Buffer) => {
          said += piece;
          const ready = /Loopwalk is ready at (\S+)/.exec(said)?.[1];
          if (ready !== undefined) resolve(ready);
        };
        child.stdout.on("data", listen);
        child.stderr.on("data", listen);
        child.on("exit", (status) => reject(new Error(`ended with ${status}: ${said}`)));
      });
      expect(`Loopwalk is ready at ${address}\n`).toBe(printed!.replace("8080", `${port}`));
      expect((await fetch(new URL("/api/health", address))).status).toBe(200);
      expect(await (await fetch(address)).text()).toContain("<html");
    } finally {
      process.kill(-child.pid!, "SIGTERM");
      await new Promise((resolve) => (child.exitCode === null ? child.on("exit", resolve) : resolve(null)));
      rmSync(data, { recursive: true, force: true });
    }
  });

  test("the tests are what .ci/run runs after it has installed the lock file", () => {
    const { line } = commands.find((command) => command.line.endsWith("npm test"))!;
    expect(read(".ci/run").trimEnd().split("\n").at(-1)).toBe(line);
    expect(read(".ci/run")).toMatch(/^npm ci$/m);
  });
});

/** From the job's title to the end of what was found: the rest of the page may be long. */
function beginning(stdout: string): string {
  const lines = stdout.slice(stdout.indexOf("Orchard sprayer")).split("\n");
  return `${lines.slice(0, lines.indexOf("Worst case") - 1).join("\n")}\n`;
}

const freePort = () =>
  new Promise<number>((resolve) => {
    const server = createServer().listen(0, "127.0.0.1", () => {
      const { port } = server.address() as { port: number };
      server.close(() => resolve(port));
    });
  });

describe.each(["README.md", "DEVELOPERS.md"])("%s", (name) => {
  const text = read(name);

  test("names no script that is not there", () => {
    const scripts = JSON.parse(read("package.json")).scripts as Record<string, string>;
    const named = [...text.matchAll(/npm run (?:--silent )?([\w:-]+)/g)].map(([, script]) => script!);
    expect(named.length).toBeGreaterThan(0);
    expect(named.filter((script) => !(script in scripts))).toEqual([]);
  });

  test("names no file or folder that is not there", () => {
    const linked = [...text.matchAll(/\]\(([^):#]+)\)/g)].map(([, path]) => path!);
    const quoted = [...text.matchAll(/`([\w.-]+(?:\/[\w.-]+)*\/|[\w.-]+(?:\/[\w.-]+)+\.\w+)`/g)].map(
      ([, path]) => path!,
    );
    const made = ["data/", "dist/", "screenshots/"];
    const places = ["", "analysis", "tests"];
    const missing = [...linked, ...quoted].filter(
      (path) => !made.includes(path) && !places.some((place) => existsSync(join(root, place, path))),
    );
    expect(missing).toEqual([]);
  });
});

test("every script is told of in DEVELOPERS.md or README.md", () => {
  const scripts = Object.keys(JSON.parse(read("package.json")).scripts);
  const told = readme + read("DEVELOPERS.md");
  expect(
    scripts.filter(
      (script) =>
        !told.includes(`npm run ${script}`) &&
        !told.includes(`npm run --silent ${script}`) &&
        !told.includes(`npm ${script}`),
    ),
  ).toEqual([]);
});
