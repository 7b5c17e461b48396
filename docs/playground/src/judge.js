// The worker, asked one question at a time; of those that a newer one replaces, only the newest is put.

export class Judge {
  #worker;
  #waiting = new Map(); // what is asked, by topic; the newest of each
  #pending = null;
  #number = 0;

  constructor(onStage) {
    this.#worker = new Worker("worker.js", { type: "module" });
    this.#worker.onerror = (event) => onStage({ failed: event.message || "the worker did not start" });
    this.#worker.onmessage = ({ data }) => (data.id === undefined ? onStage(data) : this.#answered(data));
  }

  /** The answer; null where a newer question of the same topic took this one's place. Rejects with what went wrong. */
  ask(topic, operation, files, args) {
    return new Promise((resolve, reject) => {
      this.#waiting.get(topic)?.resolve(null);
      this.#waiting.set(topic, { question: { operation, files, arguments: args }, resolve, reject });
      this.#next();
    });
  }

  #next() {
    if (this.#pending || !this.#waiting.size) return;
    const [topic, one] = this.#waiting.entries().next().value;
    this.#waiting.delete(topic);
    this.#pending = { ...one, id: ++this.#number };
    this.#worker.postMessage({ id: this.#pending.id, question: one.question });
  }

  #answered({ id, answer, fault }) {
    const { resolve, reject } = this.#pending;
    if (id !== this.#pending.id) return;
    this.#pending = null;
    if (fault === undefined) resolve(answer);
    else reject(new Error(fault));
    this.#next();
  }
}
