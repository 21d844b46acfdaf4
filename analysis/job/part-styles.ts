/** The styles of connections and fuses that a job may name (`formats.md` section 1). */
export const connectionStyles = [
  "battery-post",
  "ring-lug",
  "plug",
  "splice",
  "ground-stud",
  "strap",
  "screw-terminal",
  "push-on",
  "accessory-socket",
] as const;
export type ConnectionStyle = (typeof connectionStyles)[number];

export const fuseStyles = ["blade", "maxi-blade", "bolt-down", "glass"] as const;
export type FuseStyle = (typeof fuseStyles)[number];
