/** The customer's record as one page of HTML, with its style and its picture in it: nothing is fetched. */
import type { Mark, ProfilePicture } from "./profile-picture.ts";
import type { Block, RecordDocument, Section } from "./record-model.ts";

export function recordHtml(record: RecordDocument): string {
  const { kind, title, facts, front, rest } = record;
  const factLines = facts.map(([name, value]) => `<p class="fact">${escaped(`${name}: ${value}`)}</p>`);
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>${escaped(title)}</title>
<style>${style}</style>
</head>
<body>
<p class="fact">${escaped(kind)}</p>
<h1>${escaped(title)}</h1>
${factLines.join("\n")}
${[...front, ...rest].map(sectionHtml).join("\n")}
</body>
</html>
`;
}

const style = `
body{font:15px/1.4 Helvetica,Arial,sans-serif;color:#000;background:#fff;max-width:46em;margin:2em auto;padding:0 1em}
h1{font-size:1.6em;margin:.2em 0}h2{font-size:1.15em;margin:1.2em 0 .3em;break-after:avoid}p{margin:.3em 0}
.fact{font-size:.9em;margin:0}table{border-collapse:collapse;width:100%;font-size:.8em;margin:.5em 0}
th,td{text-align:left;vertical-align:top;padding:.25em .4em;border-bottom:1px solid #999;overflow-wrap:anywhere}
th{border-bottom:2px solid #000}tr{break-inside:avoid}svg{width:100%;height:auto}figcaption{font-size:.85em}figure{margin:.5em 0}
@media print{body{margin:0;max-width:none;font-size:10pt}}`;

const sectionHtml = ({ heading, blocks }: Section): string =>
  `<section><h2>${escaped(heading)}</h2>\n${blocks.map(blockHtml).join("\n")}</section>`;

function blockHtml(block: Block): string {
  switch (block.kind) {
    case "paragraph":
      return `<p>${escaped(block.text)}</p>`;
    case "list":
      return `<ul>${block.items.map((item) => `<li>${escaped(item)}</li>`).join("")}</ul>`;
    case "table": {
      const all = block.shares.reduce((sum, share) => sum + share, 0);
      const head = block.head.map(
        (text, index) =>
          `<th scope="col" style="width:${Math.round((block.shares[index]! / all) * 100)}%">${escaped(text)}</th>`,
      );
      const rows = block.rows.map((row) => `<tr>${row.map((text) => `<td>${escaped(text)}</td>`).join("")}</tr>`);
      return `<table><thead><tr>${head.join("")}</tr></thead><tbody>${rows.join("\n")}</tbody></table>`;
    }
    case "profile":
      return `<figure>${pictureSvg(block.picture, block.caption)}<figcaption>${escaped(block.caption)}</figcaption></figure>`;
  }
}

const pictureSvg = ({ width, height, marks }: ProfilePicture, words: string): string =>
  `<svg viewBox="0 0 ${width} ${height}" role="img" aria-label="${escaped(words)}" font-family="Helvetica,Arial,sans-serif">${marks.map(markSvg).join("")}</svg>`;

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
