/** The job of formats.md section 1, as it stands there: what every check of a job starts from. */
export const orchardSprayer = () => ({
  format: "job/1",
  title: "Orchard sprayer, VHF set resets on transmit",
  ambientCelsius: 25,
  load: { label: "VHF mobile, 50 W", idleAmps: 0.6, transmitAmps: 11.5, minimumVolts: 11.0, ratedVolts: 13.6 },
  limits: { totalDropVolts: 0.5 },
  loop: [
    { point: "battery+" },
    { part: "connection", id: "battery-lug", style: "ring-lug" },
    { part: "fuse", id: "main-fuse", style: "blade", ratingAmps: 20, metresFromBattery: 0.15 },
    { point: "fuse-out" },
    { part: "wire", id: "feed", awg: 10, metres: 4.5 },
    { part: "connection", id: "plug-positive", style: "plug" },
    { point: "load+" },
    { part: "load" },
    { point: "load-" },
    { part: "connection", id: "plug-negative", style: "plug" },
    { part: "wire", id: "ground-lead", awg: 10, metres: 0.6 },
    { part: "connection", id: "ground-stud", style: "ground-stud" },
    { point: "body-at-load" },
    { part: "chassis", id: "body" },
    { part: "connection", id: "battery-strap", style: "strap" },
    { point: "battery-" },
  ] as Record<string, unknown>[],
  meters: [
    { id: "m1", label: "handheld A", volts: { percentOfReading: 0.5, counts: 3, resolution: 0.01 } },
    { id: "clamp", label: "DC clamp", amps: { percentOfReading: 2, counts: 5, resolution: 0.1 } },
  ] as Record<string, unknown>[],
  recordings: [
    { file: "battery.csv", round: "before", meter: "m1", quantity: "volts", from: "battery+", to: "battery-" },
    { file: "load.csv", round: "before", meter: "m2", quantity: "volts", from: "load+", to: "load-" },
    { file: "clamp.csv", round: "before", meter: "clamp", quantity: "amps", through: "feed" },
  ] as Record<string, unknown>[],
  readings: [
    { round: "before", meter: "m1", from: "load-", to: "battery-", engine: "off", radio: "transmit", volts: 0.62 },
    { round: "before", meter: "clamp", through: "feed", engine: "off", radio: "transmit", amps: 11.2 },
  ] as Record<string, unknown>[],
  rounds: [] as Record<string, unknown>[],
});

export type JobText = ReturnType<typeof orchardSprayer> & Record<string, unknown>;

/** The same with something changed, as plain data. */
export function changedJob(change: (job: JobText) => void): JobText {
  const job = orchardSprayer() as JobText;
  change(job);
  return job;
}
