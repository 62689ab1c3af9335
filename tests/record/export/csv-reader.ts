/**
 * A strict reader of CSV by the grammar of RFC 4180, section 2 (published, ABNF): records end in CRLF,
 * a field is bare text without comma, quote or line break, or quoted with its quotes doubled.
 */
export function readCsv(text: string): string[][] {
  const records: string[][] = [];
  const field = /"((?:[^"]|"")*)"|([^",\r\n]*)/y;
  let record: string[] = [];
  for (let at = 0; at < text.length; ) {
    field.lastIndex = at;
    const found = field.exec(text);
    if (found === null) throw new Error(`no field at ${at}`);
    record.push(found[1] === undefined ? (found[2] ?? "") : found[1].replaceAll('""', '"'));
    at = field.lastIndex;
    if (text.startsWith(",", at)) {
      at += 1;
      continue;
    }
    if (!text.startsWith("\r\n", at)) throw new Error(`neither comma nor CRLF at ${at}`);
    at += 2;
    records.push(record);
    record = [];
  }
  if (record.length > 0) throw new Error("the last record has no line end");
  return records;
}
