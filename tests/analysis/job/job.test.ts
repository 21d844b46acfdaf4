// A job is what formats.md section 1 says it is; everything else is refused in one sentence that names its field.
import { describe, expect, test } from "vitest";
import { checkJob, jobLimits, parseJob } from "../../../analysis/job/job.ts";
import { Problem } from "../../../analysis/problem.ts";
import { changedJob, type JobText, orchardSprayer } from "./orchard-sprayer.ts";

function refusal(read: () => unknown): string {
  try {
    read();
  } catch (error) {
    if (error instanceof Problem) return error.message;
    throw error;
  }
  throw new Error("should have been refused");
}

const refused = (change: (job: JobText) => void) => refusal(() => checkJob(changedJob(change)));

describe("a job that can stand", () => {
  test("the example of formats.md, with a warning for the meter it does not list", () => {
    const { job, warnings } = parseJob(JSON.stringify(orchardSprayer()));
    expect(job.loop).toHaveLength(16);
    expect(job.load.transmitAmps).toBe(11.5);
    expect(warnings).toEqual([
      "job.json: no accuracy is stated under meters for 'm2' (volts): that of an ordinary handheld meter is assumed",
    ]);
  });

  test("unknown fields are kept, and named in one warning", () => {
    const { job, warnings } = checkJob(
      changedJob((job) => {
        job.weather = "fog";
        job.loop[4]!.colour = "red";
        Object.assign(job.load, { paint: { coats: 2 } });
        job.recordings[1]!.meter = "m1";
      }),
    );
    expect(job).toMatchObject({ weather: "fog", load: { paint: { coats: 2 } } });
    expect(job.loop[4]).toMatchObject({ colour: "red" });
    expect(warnings).toHaveLength(1);
    for (const field of ["weather", "loop[4].colour", "load.paint"]) expect(warnings[0]).toContain(field);
  });

  test("many unknown fields still make one short warning", () => {
    const { warnings } = checkJob(
      changedJob((job) => {
        for (let i = 0; i < 400; i++) job[`field-${i}`] = i;
      }),
    );
    expect(warnings[0]).toContain("and 395 more");
    expect(warnings.length).toBeLessThanOrEqual(2);
  });

  test("all optional fields of formats.md are known", () => {
    const { warnings } = checkJob(
      changedJob((job) => {
        Object.assign(job, {
          ...{ customer: "x", vehicle: "x", vehicleId: "x", technician: "x", notes: "x", recheckDue: "2027-01" },
          ...{ setting: "boat", rules: "x", battery: { type: "agm", ampereHours: 90 } },
          source: { kind: "battery", limitAmps: 30, charging: "variable" },
        });
        Object.assign(job.load, { fedFrom: "constant", standbyAmps: 0.02, fusedLegs: "both", emission: "fm" });
        Object.assign(job.loop[0]!, { reach: "easy" });
        Object.assign(job.loop[4]!, {
          ...{ ohms: 0.01, ohmsTolerance: 1.5, material: "copper", strands: 105, insulationCelsius: 105 },
          ...{ sheathed: true, engineSpace: false, bundledWith: 2, unknown: ["size", "length"], gaugeSystem: "sae" },
        });
        Object.assign(job.meters[0]!, { captureSeconds: 0.1, calibratedOn: "2026-01-01" });
        job.recordings[1]!.meter = "m1";
        Object.assign(job.recordings[0]!, {
          ...{
            engine: "off",
            radio: "idle",
            column: 2,
            timeColumn: "time",
            interval: 1,
            startTime: "2026-01-01T10:00:00Z",
          },
          ...{ delimiter: ";", decimal: ",", dayFirst: true, unit: "mV", concurrent: false, sha256: "00" },
          ...{
            drawnBy: "test-load",
            rfInto: "antenna",
            keyedSeconds: 5,
            takenAt: "x",
            restedHours: 8,
            bypassed: ["feed"],
          },
          marks: [{ seconds: 3, label: "wiggled the plug" }],
        });
        Object.assign(job.readings[0]!, { held: "lowest", radio: "off", rippleVolts: 0.04 });
        job.rounds = [
          {
            round: "after",
            date: "x",
            note: "x",
            changed: [{ id: "feed", awg: 8 }],
            done: ["x"],
            checks: { grommets: true },
            photos: ["a.jpg"],
          },
        ];
      }),
    );
    expect(warnings).toEqual([]);
  });
});

describe("what is refused, and with which words", () => {
  test.each<[string, (job: JobText) => void, string]>([
    [
      "unknown style",
      (job) => {
        job.loop[1]!.style = "ring";
      },
      "job.json, loop[1].style: should be one of battery-post, ring-lug, plug, splice, ground-stud, strap, screw-terminal, push-on, accessory-socket; got 'ring'",
    ],
    [
      "style left out",
      (job) => void delete job.loop[2]!.style,
      "job.json, loop[2].style: should be one of blade, maxi-blade, bolt-down, glass; got nothing",
    ],
    [
      "unknown part",
      (job) => {
        job.loop[4]!.part = "cable";
      },
      "job.json, loop[4].part: should be one of connection, fuse, wire, switch, chassis, load; got 'cable'",
    ],
    [
      "unknown version",
      (job) => {
        job.format = "job/2";
      },
      "job.json, format: should be 'job/1', the version that this program reads; got 'job/2'",
    ],
    [
      "no version",
      (job) => void delete (job as Record<string, unknown>).format,
      "job.json, format: should be 'job/1', the version that this program reads; got nothing",
    ],
    [
      "no loop",
      (job) => void delete (job as Record<string, unknown>).loop,
      "job.json, loop: should be a list of at most 100 entries; got nothing",
    ],
    [
      "empty loop",
      (job) => {
        job.loop = [];
      },
      "job.json, loop[0]: should be the point 'battery+', where the loop starts; got nothing",
    ],
    [
      "wrong start",
      (job) => void job.loop.shift(),
      "job.json, loop[0]: should be the point 'battery+', where the loop starts; got 'battery-lug'",
    ],
    [
      "wrong end",
      (job) => void job.loop.pop(),
      "job.json, loop[14]: should be the point 'battery-', where the loop ends; got 'battery-strap'",
    ],
    [
      "no load+",
      (job) => void job.loop.splice(6, 1),
      "job.json, loop: should pass the point 'load+' before the load; got nothing",
    ],
    [
      "load- before load",
      (job) => void job.loop.splice(7, 2, { point: "load-" }, { part: "load" }),
      "job.json, loop: should pass the point 'load-' after the load; got 'load-'",
    ],
    ["no load", (job) => void job.loop.splice(7, 1), "job.json, loop: should have exactly one part 'load'; got 0"],
    [
      "two loads",
      (job) => void job.loop.splice(7, 0, { part: "load" }),
      "job.json, loop[8]: should have exactly one part 'load'; got 2",
    ],
    [
      "id twice",
      (job) => {
        job.loop[5]!.id = "feed";
      },
      "job.json, loop[5].id: should be a name of its own, as loop[4] has it; got 'feed'",
    ],
    [
      "point twice",
      (job) => {
        job.loop[12]!.point = "fuse-out";
      },
      "job.json, loop[12].point: should be a name of its own, as loop[3] has it; got 'fuse-out'",
    ],
    [
      "wire without size",
      (job) => void delete job.loop[4]!.awg,
      "job.json, loop[4]: should give its size as awg or squareMillimetres, or its ohms; got none of them",
    ],
    [
      "wire without length",
      (job) => void delete job.loop[4]!.metres,
      "job.json, loop[4].metres: should be a number above 0 and at most 1000; got nothing",
    ],
    [
      "endless wire",
      (job) => {
        job.loop[4]!.metres = 1e308;
      },
      "job.json, loop[4].metres: should be a number above 0 and at most 1000; got 1e+308",
    ],
    [
      "negative wire",
      (job) => {
        job.loop[4]!.metres = -3;
      },
      "job.json, loop[4].metres: should be a number above 0 and at most 1000; got -3",
    ],
    [
      "NaN",
      (job) => {
        job.loop[4]!.metres = Number.NaN;
      },
      "job.json, loop[4].metres: should be a number above 0 and at most 1000; got NaN",
    ],
    [
      "gauge as text",
      (job) => {
        job.loop[4]!.awg = "thick";
      },
      "job.json, loop[4].awg: should be a number from -3 to 40, or one of 1/0, 2/0, 3/0, 4/0; got 'thick'",
    ],
    [
      "load as text",
      (job) => void Object.assign(job, { load: "VHF" }),
      "job.json, load: should be an object in braces; got 'VHF'",
    ],
    [
      "point that is not there",
      (job) => {
        job.recordings[1]!.from = "load";
      },
      "job.json, recordings[1].from: should be a point of the loop (battery+, fuse-out, load+, load-, body-at-load, battery-); got 'load'",
    ],
    [
      "volts without probes",
      (job) => void delete job.readings[0]!.to,
      "job.json, readings[0].to: should be a point of the loop (battery+, fuse-out, load+, load-, body-at-load, battery-); got nothing",
    ],
    [
      "both probes on one point",
      (job) => {
        job.readings[0]!.to = "load-";
      },
      "job.json, readings[0].to: should be another point than 'from'; got 'load-'",
    ],
    [
      "amps without a part",
      (job) => void delete job.recordings[2]!.through,
      "job.json, recordings[2].through: should be the id of a part of the loop other than the load (battery-lug, main-fuse, feed, plug-positive, plug-negative, ground-lead, ground-stud, body, battery-strap); got nothing",
    ],
    [
      "reading without value",
      (job) => void delete job.readings[1]!.amps,
      "job.json, readings[1]: should have a value: volts, amps or rippleVolts; got none of them",
    ],
    [
      "reading with two values",
      (job) => {
        job.readings[1]!.volts = 3;
      },
      "job.json, readings[1]: should have one value, volts or amps; got both (write two readings)",
    ],
    [
      "unknown engine state",
      (job) => {
        job.readings[0]!.engine = "on";
      },
      "job.json, readings[0].engine: should be one of off, running; got 'on'",
    ],
    [
      "round without name",
      (job) => void delete job.readings[0]!.round,
      "job.json, readings[0].round: should be a text of at least 1 and at most 200 characters; got nothing",
    ],
    [
      "clamp on the load",
      (job) => {
        job.loop[7]!.id = "set";
        job.readings[1]!.through = "set";
      },
      "job.json, readings[1].through: should be the id of a part of the loop other than the load (battery-lug, main-fuse, feed, plug-positive, plug-negative, ground-lead, ground-stud, body, battery-strap); got 'set'",
    ],
    [
      "bypassed part",
      (job) => {
        job.readings[0]!.bypassed = ["strap"];
      },
      "job.json, readings[0].bypassed[0]: should be the id of a part of the loop other than the load (battery-lug, main-fuse, feed, plug-positive, plug-negative, ground-lead, ground-stud, body, battery-strap); got 'strap'",
    ],
    [
      "changed part",
      (job) => {
        job.rounds = [{ round: "after", changed: [{ id: "lead", awg: 8 }] }];
      },
      "job.json, rounds[0].changed[0].id: should be the id of a part of the loop (battery-lug, main-fuse, feed, plug-positive, plug-negative, ground-lead, ground-stud, body, battery-strap); got 'lead'",
    ],
    [
      "changed to nonsense",
      (job) => {
        job.rounds = [{ round: "after", changed: [{ id: "feed", awg: 99 }] }];
      },
      "job.json, rounds[0].changed[0].awg: should be a number from -3 to 40, or one of 1/0, 2/0, 3/0, 4/0; got 99",
    ],
    [
      "meter twice",
      (job) => {
        job.meters[1]!.id = "m1";
      },
      "job.json, meters[1].id: should be an id of its own, as meters[0] has it; got 'm1'",
    ],
    [
      "meter half stated",
      (job) => {
        job.meters[0]!.volts = { percentOfReading: 0.5 };
      },
      "job.json, meters[0].volts.counts: should be a number from 0 to 10000; got nothing",
    ],
  ])("%s", (_, change, sentence) => {
    expect(refused(change)).toBe(sentence);
  });

  test.each([
    [null, "null"],
    [[], "a list of 0 entries"],
    ["job", "'job'"],
    [3, "3"],
    [undefined, "nothing"],
  ])("%j is no job", (value, got) => {
    expect(refusal(() => checkJob(value))).toBe(`job.json: should hold one job as an object in braces; got ${got}`);
  });
});

describe("absurd sizes are refused within moments", () => {
  test("3,000 parts", () => {
    const start = performance.now();
    const many = Array.from({ length: 3000 }, (_, i) => ({ part: "switch", id: `s${i}` }));
    expect(refused((job) => void job.loop.splice(1, 0, ...many))).toBe(
      `job.json, loop: should be a list of at most ${jobLimits.loopItems} entries; got a list of 3016 entries`,
    );
    expect(performance.now() - start).toBeLessThan(1000);
  });

  test("20,000 readings", () => {
    const reading = orchardSprayer().readings[0]!;
    expect(
      refused((job) => {
        job.readings = Array.from({ length: 20_000 }, () => ({ ...reading }));
      }),
    ).toBe(
      `job.json, readings: should be a list of at most ${jobLimits.readings} entries; got a list of 20000 entries`,
    );
  });

  test("a hundred thousand brackets deep", () => {
    const text = JSON.stringify(
      changedJob((job) => {
        job.notes = "?";
      }),
    ).replace('"?"', `${"[".repeat(1e5)}${"]".repeat(1e5)}`);
    expect(refusal(() => parseJob(text))).toMatch(
      /^job\.json, notes\[0\].*: should be nested at most 32 deep; got more$/,
    );
  });

  test("a prototype in disguise", () => {
    const text = JSON.stringify(orchardSprayer()).replace('"load":{', '"load":{"__proto__":{"idleAmps":5},');
    expect(refusal(() => parseJob(text))).toBe(
      "job.json, load.__proto__: should have another name; this one is kept from use",
    );
    expect(({} as Record<string, unknown>).idleAmps).toBeUndefined();
  });

  test("a text without end", () => {
    expect(refusal(() => parseJob(`"${"x".repeat(9_000_000)}"`))).toBe(
      "job.json: should be at most 8000000 characters long; got 9000002",
    );
  });
});
