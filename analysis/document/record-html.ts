/** The customer's record as one page of HTML, with its style and its picture in it: nothing is fetched. */
import { signatureField } from "./hand-signature.ts";
import type { Mark, ProfilePicture } from "./profile-picture.ts";
import type { Block, PrintedPhoto, PrintedSignature, RecordDocument, Section, SquareCode } from "./record-model.ts";
import { words } from "./record-words.ts";

/** The page in its parts: its style, and what stands in an element of the class `record`. */
export interface RecordPage {
  readonly title: string;
  readonly style: string;
  readonly body: string;
}

export function recordPage({ kind, title, facts, front, rest }: RecordDocument): RecordPage {
  const factLines = facts.map(([name, value]) => `<p class="fact">${escaped(words.fact(name, value))}</p>`);
  const body = `<p class="fact">${escaped(kind)}</p>
<h1>${escaped(title)}</h1>
${factLines.join("\n")}
${front.map(sectionHtml).join("\n")}
<div class="rest">${rest.map(sectionHtml).join("\n")}</div>`;
  return { title, style, body };
}

export function recordHtml(record: RecordDocument): string {
  const page = recordPage(record);
  return `<!doctype html>
<html lang="${words.language}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>${escaped(page.title)}</title>
<style>body{margin:0;background:#fff}${page.style}</style>
</head>
<body>
<main class="record">
${page.body}
</main>
</body>
</html>
`;
}

/** What is wider than a phone scrolls by itself, and is as wide as the paper in print. */
const style = `
.record{font:15px/1.4 Helvetica,Arial,sans-serif;color:#000;background:#fff;max-width:46em;margin:0 auto;padding:1em}
h1{font-size:1.6em;margin:.2em 0}h2{font-size:1.15em;margin:1.2em 0 .3em;break-after:avoid}p{margin:.3em 0}
ul{margin:.3em 0;padding-left:1.3em;list-style:disc}.record p,.record li{overflow-wrap:anywhere}
.fact{font-size:.9em;margin:0}.frame{overflow-x:auto}table{border-collapse:collapse;width:100%;min-width:42em;font-size:.8em;margin:.5em 0;table-layout:fixed}
th,td{text-align:left;vertical-align:top;padding:.25em .4em;border-bottom:1px solid #999;overflow-wrap:anywhere}
th{border-bottom:2px solid #000}tr{break-inside:avoid}svg,img{max-width:100%;height:auto}figcaption{font-size:.85em}figure{margin:.5em 0;break-inside:avoid}
.picture svg{width:100%;min-width:36em}.photos{display:grid;grid-template-columns:repeat(auto-fill,minmax(min(100%,15em),1fr));gap:0 1em}
.photos img{max-height:20em}.seal{display:flex;flex-wrap:wrap;gap:1em;align-items:center}.seal svg{width:9em;flex:none}.seal p{flex:1 1 15em}
.signatures{display:flex;flex-wrap:wrap;gap:1em 2em}.signatures svg{width:15em;border-bottom:1px solid #000;display:block}
@media print{.record{margin:0;padding:0;max-width:none;font-size:10pt}.rest{break-before:page}.frame{overflow:visible}table,.picture svg{min-width:0}}`;

const sectionHtml = ({ heading, blocks }: Section): string =>
  `<section><h2>${escaped(heading)}</h2>\n${blocks.map(blockHtml).join("\n")}</section>`;

function blockHtml(block: Block): string {
  switch (block.kind) {
    case "paragraph":
      return `<p>${escaped(block.text)}</p>`;
    case "list":
      return `<ul>${block.items.map((item) => `<li>${escaped(item)}</li>`).join("")}</ul>`;
    case "table":
      return tableHtml(block);
    case "profile":
      return `<figure><div class="frame picture" tabindex="0">${pictureSvg(block.picture, block.caption)}</div><figcaption>${escaped(block.caption)}</figcaption></figure>`;
    case "photos":
      return `<div class="photos">${block.photos.map(photoHtml).join("\n")}</div>`;
    case "signatures":
      return `<div class="signatures">${block.names.map(signatureHtml).join("\n")}</div>`;
    case "seal":
      return `<div class="seal">${codeSvg(block.code)}<p>${escaped(block.text)}</p></div>`;
  }
}

function tableHtml({ head, rows, shares }: Extract<Block, { kind: "table" }>): string {
  const all = shares.reduce((sum, share) => sum + share, 0);
  const columns = shares.map((share) => `<col width="${Math.round((share / all) * 100)}%">`).join("");
  const cells = (texts: readonly string[]) => texts.map((text) => `<td>${escaped(text)}</td>`).join("");
  const headings = head.map((text) => `<th scope="col">${escaped(text)}</th>`).join("");
  const lines = rows.map((row) => `<tr>${cells(row)}</tr>`).join("\n");
  return `<div class="frame" tabindex="0"><table><colgroup>${columns}</colgroup><thead><tr>${headings}</tr></thead><tbody>${lines}</tbody></table></div>`;
}

function photoHtml({ caption, picture }: PrintedPhoto): string {
  const words = escaped(caption);
  if (picture === null) return `<figure><figcaption>${words}</figcaption></figure>`;
  const source = `data:image/${picture.facts.kind};base64,${base64(picture.bytes)}`;
  return `<figure><img src="${source}" alt="${words}"><figcaption>${words}</figcaption></figure>`;
}

/** In pieces, since a call takes only so many characters at a time. */
function base64(bytes: Uint8Array): string {
  const piece = 0x3000;
  const parts: string[] = [];
  for (let at = 0; at < bytes.length; at += piece)
    parts.push(btoa(String.fromCharCode(...bytes.subarray(at, at + piece))));
  return parts.join("");
}

function signatureHtml({ strokes, words, remark }: PrintedSignature): string {
  const lines = strokes.map((stroke) => `<polyline points="${stroke.join(" ")}"/>`).join("");
  const { width, height } = signatureField;
  return `<figure><svg viewBox="0 0 ${width} ${height}" role="img" aria-label="${escaped(words)}" fill="none" stroke="#000" stroke-width="4" stroke-linecap="round" stroke-linejoin="round">${lines}</svg><figcaption>${escaped(`${words}: ${remark}`)}</figcaption></figure>`;
}

/** With four modules of quiet about it, as its standard asks. */
function codeSvg(code: SquareCode): string {
  const across = code.length + 8;
  const dark = code.flatMap((row, y) => row.flatMap((isDark, x) => (isDark ? [`M${x + 4} ${y + 4}h1v1h-1z`] : [])));
  return `<svg viewBox="0 0 ${across} ${across}" role="img" aria-label="${escaped(words.sealShows)}" shape-rendering="crispEdges"><path d="${dark.join("")}"/></svg>`;
}

const pictureSvg = ({ width, height, marks }: ProfilePicture, caption: string): string =>
  `<svg viewBox="0 0 ${width} ${height}" role="img" aria-label="${escaped(caption)}" font-family="Helvetica,Arial,sans-serif">${marks.map(markSvg).join("")}</svg>`;

const round = (value: number) => Number(value.toFixed(2));
const grey = (share: number) =>
  `rgb(${Array(3)
    .fill(Math.round(share * 255))
    .join(",")})`;

function markSvg(mark: Mark): string {
  switch (mark.kind) {
    case "line": {
      const points = mark.points.map(([x, y]) => `${round(x)},${round(y)}`).join(" ");
      const dash = mark.dashed ? ' stroke-dasharray="4 2.5"' : "";
      return `<polyline points="${points}" fill="none" stroke="${grey(mark.grey)}" stroke-width="${mark.width}"${dash}/>`;
    }
    case "box":
      return `<rect x="${round(mark.x)}" y="${round(mark.y)}" width="${round(mark.width)}" height="${round(mark.height)}" fill="${grey(mark.grey)}"/>`;
    case "text": {
      const place = `x="${round(mark.x)}" y="${round(mark.y)}" font-size="${mark.size}"`;
      const upright = mark.stands === "upright" ? ` transform="rotate(-90 ${round(mark.x)} ${round(mark.y)})"` : "";
      return `<text ${place} text-anchor="${mark.stands === "after" ? "start" : "end"}"${upright}>${escaped(mark.text)}</text>`;
    }
  }
}

const entities: Record<string, string> = { "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;" };
const escaped = (text: string): string =>
  text.replace(/[\p{Cc}]+/gu, " ").replace(/[&<>"']/g, (mark) => entities[mark]!);
