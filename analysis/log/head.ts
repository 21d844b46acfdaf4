/**
 * The first stretch of a file cut into records, from which its layout is found.
 */
import { Problem } from "../problem.ts";
import { longestRecordBytes } from "./body.ts";
import { mostColumns } from "./dialect.ts";
import type { LineDecoder } from "./encoding.ts";
import type { HeadRecord } from "./layout.ts";
import { anyDelimiter, findRecordEnd } from "./record.ts";

/**
 * @param last whether the head is the whole file; else its last record, which may be cut, is left out
 * @throws {Problem} for a line of a million columns, or one that never ends
 */
export function readHead(
  file: string,
  head: Uint8Array,
  delimiter: string | null,
  decoder: LineDecoder,
  last: boolean,
): HeadRecord[] {
  const records: HeadRecord[] = [];
  const delimiterByte = delimiter === null ? anyDelimiter : delimiter.charCodeAt(0);
  let line = 1;
  for (let at = 0; at < head.length; ) {
    const record = findRecordEnd(head, at, delimiterByte, last);
    const length = (record?.end ?? head.length) - at;
    if (length > longestRecordBytes) {
      refuseManyColumns(file, decoder.decode(head, at, at + longestRecordBytes), line);
      throw tooLong(file, line);
    }
    if (record === null) break;
    const text = decoder.decode(head, at, record.end);
    refuseManyColumns(file, text, line);
    records.push({ text, line, offset: at, unclosed: record.unclosed });
    line += record.lines;
    at = record.next;
  }
  return records;
}

const tooLong = (file: string, line: number): Problem =>
  new Problem(`this line is longer than ${longestRecordBytes} bytes; a log should have a row a line`, { file, line });

function refuseManyColumns(file: string, text: string, line: number): void {
  if (text.length < mostColumns) return;
  const delimiter = [",", ";", "\t", "|"].find((mark) => text.split(mark, mostColumns + 2).length > mostColumns);
  if (delimiter === undefined) return;
  throw new Problem(`this line has more than ${mostColumns} columns; a meter's log should have a few`, {
    file,
    line,
    column: mostColumns + 1,
  });
}
