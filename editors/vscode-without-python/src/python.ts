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

/** What a worker says once it has started, or cannot. */
export async function readiness(ready: Promise<unknown>): Promise<Message> {
  return ready.then(() => ({ id: 0 }), (error) => ({ id: 0, fault: `it could not start: ${error}` }));
}

/** What posts messages to a worker and hears its answers. */
export interface Line {
  post(message: Message): void;
  onMessage(heard: (message: Message) => void): void;
  onFailure(heard: (why: string) => void): void;
  end(): void;
}

interface Asked {
  topic: string;
  question: Question;
  resolve(answer: unknown): void;
  reject(error: Error): void;
  put: number;
}

/** Puts questions in order; of those of one topic that wait, only the newest is put. The worker starts with the first. */
export class Lineshaft {
  private waiting = new Map<string, Asked>();
  private pending: Asked | undefined;
  private number = 0;
  private line: Line | undefined;
  private ready = false;
  private starts = 0; // milliseconds that a start has taken

  /** An answer of the topic `left` that is sought for longer than a start takes is left where a newer one is asked for. */
  constructor(private readonly start: () => Line, private readonly left = "") {}

  /** The answer; undefined where a newer question of the topic took its place. */
  ask<T>(topic: string, question: Question): Promise<T | undefined> {
    return new Promise((resolve, reject) => {
      this.waiting.get(topic)?.resolve(undefined);
      this.waiting.set(topic, { topic, question, resolve: resolve as (answer: unknown) => void, reject, put: 0 });
      if (topic === this.left && this.pending?.topic === topic) this.leave(this.pending);
      this.next();
    });
  }

  end(): void {
    this.line?.end();
    this.line = this.pending = undefined;
  }

  private begin(): void {
    const begun = Date.now();
    const line = this.start();
    this.line = line;
    this.ready = false;
    line.onFailure((why) => this.line === line && this.failed(why));
    line.onMessage((message) => {
      if (this.line !== line) return;
      if (message.id) this.answered(message);
      else if (message.fault) this.failed(message.fault);
      else {
        this.starts = Date.now() - begun;
        this.ready = true;
        this.next();
      }
    });
  }

  private next(): void {
    const first = this.waiting.entries().next();
    if (this.pending || first.done) return;
    if (!this.line) this.begin();
    if (!this.ready) return;
    const [topic, asked] = first.value;
    this.waiting.delete(topic);
    this.pending = asked;
    asked.put = Date.now();
    this.line?.post({ id: ++this.number, question: asked.question });
  }

  private answered({ id, answer: given, fault }: Message): void {
    const asked = this.pending;
    if (!asked || id !== this.number) return;
    this.pending = undefined;
    if (fault === undefined) asked.resolve(given);
    else asked.reject(new Error(fault));
    this.next();
  }

  private leave(asked: Asked): void {
    setTimeout(() => {
      if (this.pending !== asked) return;
      this.end();
      asked.resolve(undefined);
      this.next();
    }, Math.max(0, asked.put + this.starts - Date.now()));
  }

  private failed(why: string): void {
    const asked = [...(this.pending ? [this.pending] : []), ...this.waiting.values()];
    this.waiting.clear();
    this.end();
    for (const one of asked) one.reject(new Error(why));
  }
}
