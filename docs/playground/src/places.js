// Places in a text: lineshaft counts lines and columns from 1, and columns in characters; the editor counts UTF-16 units.

export function offsetOf(doc, { line, column }) {
  if (line > doc.lines) return doc.length;
  const { from, text } = doc.line(line);
  let units = 0;
  for (let left = column - 1; left > 0 && units < text.length; left--) units += text.codePointAt(units) > 0xffff ? 2 : 1;
  return from + units;
}

export function rangeOf(doc, { start, end }) {
  const from = offsetOf(doc, start);
  return { from, to: Math.max(from, offsetOf(doc, end)) };
}

/** A text with edits made: each {start, end, text}, none overlapping another. */
export function changesOf(doc, edits) {
  return edits.map((edit) => ({ ...rangeOf(doc, edit), insert: edit.text })).sort((one, other) => one.from - other.from);
}
