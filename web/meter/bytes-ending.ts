/** How the file is called that holds the bytes behind a live log: it goes along with the job, and is no log to be read. */
export const bytesEnding = ".bytes.json";
