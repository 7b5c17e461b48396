// lineshaft in Python in a worker, whichever kind: what it loads, and how it is asked.

export interface Question {
  operation: "judge" | "show";
  files: Record<string, string>;
  arguments: Record<string, unknown>;
}

interface Python {
  unpackArchive(bytes: Uint8Array, format: string, options: { extractDir: string }): void;
  runPython(code: string): unknown;
  globals: { get(name: string): unknown };
}

/** Starts Python from the module at an address and gives what answers a question, both as JSON. */
export async function started(module: string, folder: string, site: Promise<Uint8Array>): Promise<(question: string) => string> {
  const { loadPyodide } = (await import(module)) as { loadPyodide(options: { indexURL: string }): Promise<Python> };
  const python = await loadPyodide({ indexURL: folder });
  python.unpackArchive(await site, "zip", { extractDir: "/lib/lineshaft" });
  python.runPython('import sys; sys.path.insert(0, "/lib/lineshaft")');
  python.runPython('from pathlib import Path; from bridge import Works, answered; works = Works(Path("/works"))');
  const answered = python.globals.get("answered") as (works: unknown, question: string) => string;
  const works = python.globals.get("works");
  return (question) => answered(works, question);
}

/** A message to the worker, and its answer. */
export interface Message {
  id: number;
  question?: Question;
  answer?: unknown;
  fault?: string;
}

/** Answers one message. */
export async function answer(ready: Promise<(question: string) => string>, { id, question }: Message): Promise<Message> {
  try {
    return { id, answer: JSON.parse((await ready)(JSON.stringify(question))) };
  } catch (error) {
    return { id, fault: String(error instanceof Error ? error.message : error).trim().split("\n").pop() ?? "" };
  }
}

/** What posts messages to a worker and hears its answers. */
export interface Line {
  post(message: Message): void;
  onMessage(heard: (message: Message) => void): void;
  onFailure(heard: (why: string) => void): void;
  end(): void;
}

/** Puts questions in order; of those of one topic that wait, only the newest is put. */
export class Lineshaft {
  private waiting = new Map<string, { question: Question; resolve(answer: unknown): void; reject(error: Error): void }>();
  private pending: { id: number; resolve(answer: unknown): void; reject(error: Error): void } | undefined;
  private number = 0;

  constructor(private readonly line: Line) {
    line.onMessage((message) => this.answered(message));
    line.onFailure((why) => this.failed(why));
  }

  /** The answer; undefined where a newer question of the topic took its place. */
  ask<T>(topic: string, question: Question): Promise<T | undefined> {
    return new Promise((resolve, reject) => {
      this.waiting.get(topic)?.resolve(undefined);
      this.waiting.set(topic, { question, resolve: resolve as (answer: unknown) => void, reject });
      this.next();
    });
  }

  end(): void {
    this.line.end();
  }

  private next(): void {
    const first = this.waiting.entries().next();
    if (this.pending || first.done) return;
    const [topic, { question, resolve, reject }] = first.value;
    this.waiting.delete(topic);
    this.pending = { id: ++this.number, resolve, reject };
    this.line.post({ id: this.pending.id, question });
  }

  private answered({ id, answer: given, fault }: Message): void {
    const asked = this.pending;
    if (!asked || asked.id !== id) return;
    this.pending = undefined;
    if (fault === undefined) asked.resolve(given);
    else asked.reject(new Error(fault));
    this.next();
  }

  private failed(why: string): void {
    this.pending?.reject(new Error(why));
    for (const one of this.waiting.values()) one.reject(new Error(why));
    this.pending = undefined;
    this.waiting.clear();
  }
}
