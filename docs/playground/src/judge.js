// lineshaft in a worker of its own, asked one question at a time; of those that a newer one replaces, only the newest is
// put. The worker starts with the first question.

export class Judge {
  #waiting = new Map(); // what is asked, by topic; the newest of each
  #pending = null;
  #number = 0;
  #worker = null;
  #ready = false;
  #starts = 0; // milliseconds that a start has taken

  /** `onStage` hears how a start goes on. An answer of the topic `left` that is sought for longer than a start takes is left where a newer one is asked for: Python cannot be interrupted here, so that its worker is ended and another takes its place. */
  constructor({ onStage = () => {}, left = "" }) {
    this.onStage = onStage;
    this.left = left;
  }

  /** The answer; null where a newer question of the same topic took this one's place. Rejects with what went wrong. */
  ask(topic, operation, files, args) {
    return new Promise((resolve, reject) => {
      this.#waiting.get(topic)?.resolve(null);
      this.#waiting.set(topic, { question: { operation, files, arguments: args }, resolve, reject });
      if (topic === this.left && this.#pending?.topic === topic) this.#leave(this.#pending);
      this.#next();
    });
  }

  #start() {
    const begun = performance.now();
    this.#ready = false;
    this.#worker = new Worker("worker.js", { type: "module" });
    this.#worker.onerror = (event) => this.#failed(event.message || "the worker did not start");
    this.#worker.onmessage = ({ data }) => {
      if (data.id !== undefined) return this.#answered(data);
      if (data.failed) return this.#failed(data.failed);
      this.onStage(data);
      if (data.share < 1) return undefined;
      this.#starts = performance.now() - begun;
      this.#ready = true;
      return this.#next();
    };
  }

  #next() {
    if (this.#pending || !this.#waiting.size) return;
    if (!this.#worker) this.#start();
    if (!this.#ready) return;
    const [topic, one] = this.#waiting.entries().next().value;
    this.#waiting.delete(topic);
    this.#pending = { ...one, topic, id: ++this.#number, put: performance.now() };
    this.#worker.postMessage({ id: this.#pending.id, question: one.question });
  }

  #answered({ id, answer, fault }) {
    if (id !== this.#pending?.id) return;
    const { resolve, reject } = this.#pending;
    this.#pending = null;
    if (fault === undefined) resolve(answer);
    else reject(new Error(fault));
    this.#next();
  }

  #leave(asked) {
    setTimeout(() => {
      if (this.#pending !== asked) return;
      this.#end();
      asked.resolve(null);
      this.#next();
    }, Math.max(0, asked.put + this.#starts - performance.now()));
  }

  #failed(why) {
    const asked = [this.#pending, ...this.#waiting.values()].filter(Boolean);
    const error = new Error(this.#ready ? why : `it could not start: ${why}`);
    this.#waiting.clear();
    this.#end();
    this.onStage({ failed: why });
    for (const { reject } of asked) reject(error);
  }

  #end() {
    this.#worker.terminate();
    this.#worker = this.#pending = null;
  }
}
