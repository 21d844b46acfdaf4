/** The record as it will be, made anew a moment after every change. In print it is all that there is. */
import { useEffect, useRef, useState } from "preact/hooks";
import type { RecordPage } from "../../analysis/index.ts";
import { openJob } from "../job/open-job.ts";
import { browserChoice, recordChoice, signingKey } from "../record/record-choice.ts";
import { settings } from "../settings.ts";
import { analyst } from "../worker/workers.ts";

const settleMilliseconds = 400;

/** The paper's size and the page numbers, which only the page around the record can set. */
const pageStyle = (paper: string): string =>
  `@page { size: ${paper}; margin: 15mm 15mm 18mm; @bottom-right { content: counter(page) " / " counter(pages); font: 8pt Helvetica, Arial, sans-serif; } }`;

export function RecordPreview() {
  const place = useRef<HTMLDivElement>(null);
  const [trouble, setTrouble] = useState<string | null>(null);
  const [page, setPage] = useState<RecordPage | null>(null);
  const { document, files } = openJob.value!;
  const choice = recordChoice.value;
  const key = signingKey.value?.x;

  useEffect(() => {
    let current = true;
    const timer = setTimeout(async () => {
      try {
        const made = await analyst().previewRecord(document, files, browserChoice(new Date()), key);
        if (current) [setPage(made), setTrouble(null)];
      } catch (error) {
        if (current) setTrouble((error as Error).message);
      }
    }, settleMilliseconds);
    return () => {
      current = false;
      clearTimeout(timer);
    };
  }, [document, files, choice, key, settings.value]);

  useEffect(() => {
    if (page) show(place.current!, page);
  }, [page]);

  useEffect(() => {
    const sheet = new CSSStyleSheet();
    sheet.replaceSync(pageStyle(choice.paper));
    window.document.adoptedStyleSheets.push(sheet);
    return () => {
      window.document.adoptedStyleSheets = window.document.adoptedStyleSheets.filter((one) => one !== sheet);
    };
  }, [choice.paper]);

  return (
    <section class="record-preview" aria-label="The record as it will be" aria-busy={page === null}>
      {!page && !trouble && <p role="status">Working out the record …</p>}
      {trouble && (
        <p class="notice notice-bad" role="alert">
          {trouble}
        </p>
      )}
      <div ref={place} class="record-paper" data-ready={page !== null} />
    </section>
  );
}

/** In a tree of its own, so that the app's style does not reach it, nor its style the app. */
function show(place: HTMLElement, { style, body }: RecordPage): void {
  const root = place.shadowRoot ?? place.attachShadow({ mode: "open" });
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(style);
  root.adoptedStyleSheets = [sheet];
  // every text in it was escaped where the page was made (record-html.ts)
  root.innerHTML = `<div class="record">${body}</div>`;
}
