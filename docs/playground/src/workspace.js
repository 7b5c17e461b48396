// The files that are open, by name: which one is edited, which one is drawn, and their editor states.

export const DRAWN = /\.(rig|blueprint)\.ya?ml$/;
export const KNOWN = /\.(rig|catalogue|blueprint|policy|stock|snags)\.ya?ml$/;

export class Workspace {
  constructor(stateOf) {
    this.stateOf = stateOf; // an editor state for a text
    this.states = new Map();
    this.active = "";
    this.drawn = "";
  }

  replace(texts, active) {
    this.states = new Map(Object.entries(texts).map(([name, text]) => [name, this.stateOf(text)]));
    this.drawn = "";
    this.choose(this.states.has(active) ? active : this.names[0] ?? "");
    if (!this.drawn) this.drawn = this.names.find((name) => DRAWN.test(name)) ?? "";
  }

  get names() {
    return [...this.states.keys()];
  }

  get texts() {
    return Object.fromEntries([...this.states].map(([name, state]) => [name, state.doc.toString()]));
  }

  choose(name) {
    this.active = name;
    if (DRAWN.test(name)) this.drawn = name;
  }

  put(name, text) {
    this.states.set(name, this.stateOf(text));
  }

  remove(name) {
    this.states.delete(name);
    if (this.drawn === name) this.drawn = this.names.find((other) => DRAWN.test(other)) ?? "";
    if (this.active === name) this.choose(this.names[0] ?? "");
  }

  /** Makes changes of one file as one step that can be undone. */
  change(name, changes) {
    const state = this.states.get(name);
    this.states.set(name, state.update({ changes }).state);
  }
}
