// What lineshaft answers, and places in the editor: columns count characters there and UTF-16 units here.
import * as vscode from "vscode";

interface Place {
  line: number;
  column: number;
}
export interface Span {
  start: Place;
  end: Place;
}
interface Edit extends Span {
  file: string;
  text: string;
}
export interface Repair {
  title: string;
  effect: string;
  edits: Edit[];
}
export interface Finding extends Span {
  file: string;
  rule: string;
  level: "error" | "warning" | "note";
  part?: string;
  message: string;
  suggestion?: string | null;
  repairs: Repair[];
  waived?: unknown;
  snag?: unknown;
}
export interface Judged {
  document: { findings: Finding[] } | null;
  err: string;
}
export interface Figure extends Span {
  name: string;
  item: string;
  solved: boolean;
  in?: string | null;
  out?: string | null;
  power?: string;
  limits?: { of: string; limit: string; share: string; over: boolean }[];
  rate?: string;
}
export interface Shown {
  drawing: string;
  figures: Figure[];
}

const SEVERITY = {
  error: vscode.DiagnosticSeverity.Error,
  warning: vscode.DiagnosticSeverity.Warning,
  note: vscode.DiagnosticSeverity.Information,
};

function positionOf(lines: string[], { line, column }: Place): vscode.Position {
  const text = lines[line - 1] ?? "";
  let units = 0;
  for (let left = column - 1; left > 0 && units < text.length; left--) units += (text.codePointAt(units) ?? 0) > 0xffff ? 2 : 1;
  return new vscode.Position(line - 1, units);
}

export function rangeOf(text: string, { start, end }: Span): vscode.Range {
  const lines = text.split(/\r\n|\r|\n/);
  return new vscode.Range(positionOf(lines, start), positionOf(lines, end));
}

/** A finding as the editor shows it. */
export function diagnosticOf(text: string, finding: Finding): vscode.Diagnostic {
  const said = finding.part ? `${finding.part} ${finding.message}` : finding.message;
  const message = finding.suggestion ? `${said}\n${finding.suggestion}` : said;
  const passes = Boolean(finding.waived ?? finding.snag);
  const made = new vscode.Diagnostic(rangeOf(text, finding), message, passes ? vscode.DiagnosticSeverity.Hint : SEVERITY[finding.level]);
  made.source = "lineshaft";
  made.code = finding.rule;
  return made;
}

/** What a part carries, for where one points at it. */
export function figureWords(part: Figure): string {
  if (!part.solved) return `${part.name}: ${part.item}\nnot solved`;
  const limits = (part.limits ?? []).map((one) => `${one.of} limit ${one.limit}: ${one.share}${one.over ? ", over" : ""}`);
  const lines = [part.in && `in ${part.in}`, part.out && `out ${part.out}`, part.power, ...limits, part.rate];
  return [`${part.name}: ${part.item}`, ...lines.filter(Boolean)].join("\n");
}
