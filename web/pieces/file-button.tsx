/** A button that opens the file picker, and a wrapper that takes files dropped on it. */
import type { ComponentChildren } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";

export function FileButton({
  words,
  onFiles,
  main = false,
  accept,
  camera = false,
}: {
  words: string;
  onFiles: (files: File[]) => void;
  main?: boolean;
  /** kinds of file that are offered; left out: any */
  accept?: string;
  /** a phone opens its camera instead of its files */
  camera?: boolean;
}) {
  const picker = useRef<HTMLInputElement>(null);
  return (
    <>
      <input
        ref={picker}
        type="file"
        multiple={!camera}
        accept={accept}
        capture={camera ? "environment" : undefined}
        hidden
        aria-label={words}
        onChange={(event) => {
          const files = [...(event.currentTarget.files ?? [])];
          event.currentTarget.value = "";
          if (files.length > 0) onFiles(files);
        }}
      />
      <button type="button" class={main ? "main-action" : ""} onClick={() => picker.current?.click()}>
        {words}
      </button>
    </>
  );
}

export function DropPlace({ onFiles, children }: { onFiles: (files: File[]) => void; children: ComponentChildren }) {
  const [over, setOver] = useState(false);
  const take = useRef(onFiles);
  take.current = onFiles;
  useEffect(() => {
    const paste = (event: ClipboardEvent) => {
      if ((event.target as Element).closest("input, textarea")) return;
      const files = pasted(event.clipboardData);
      if (files.length > 0) take.current(files);
    };
    document.addEventListener("paste", paste);
    return () => document.removeEventListener("paste", paste);
  }, []);
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: dropping is a second way; the button does the same by keyboard
    <div
      class={`drop-place ${over ? "drop-over" : ""}`}
      onDragOver={(event) => {
        event.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={(event) => {
        event.preventDefault();
        setOver(false);
        const files = [...(event.dataTransfer?.files ?? [])];
        if (files.length > 0) onFiles(files);
      }}
    >
      {children}
    </div>
  );
}

/** Pasted files, or pasted text as a log of its own. */
function pasted(data: DataTransfer | null): File[] {
  const files = [...(data?.files ?? [])];
  const text = data?.getData("text/plain") ?? "";
  if (files.length > 0 || !/\d/.test(text) || !text.includes("\n")) return files;
  return [
    new File([text], `pasted-${new Date().toISOString().slice(0, 19).replaceAll(":", "-")}.csv`, { type: "text/csv" }),
  ];
}
