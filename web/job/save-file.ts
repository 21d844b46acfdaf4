/** Hands a file to the person: the browser's own download. */
export function saveFile(name: string, content: Blob | string): void {
  const blob = typeof content === "string" ? new Blob([content], { type: "application/json" }) : content;
  const address = URL.createObjectURL(blob);
  Object.assign(document.createElement("a"), { href: address, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}
