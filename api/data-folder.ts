/** Where everything is kept on this machine: asked by what starts without a database as well. */
export type Settings = Readonly<Record<string, string | undefined>>;

/** @param settings DATA_DIR; `data` where it is not set */
export const dataFolder = (settings: Settings): string => settings.DATA_DIR ?? "data";
