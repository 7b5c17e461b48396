// The editor: YAML in colour, findings under the text, figures where one points, repairs as actions.
import { defaultKeymap, history, historyKeymap } from "@codemirror/commands";
import { yaml } from "@codemirror/lang-yaml";
import { bracketMatching, indentOnInput, syntaxHighlighting } from "@codemirror/language";
import { lintGutter, lintKeymap, setDiagnostics } from "@codemirror/lint";
import { EditorState } from "@codemirror/state";
import { EditorView, drawSelection, highlightActiveLine, highlightActiveLineGutter, hoverTooltip, keymap, lineNumbers } from "@codemirror/view";
import { classHighlighter } from "@lezer/highlight";

export class Editor {
  /** `figureAt(offset, doc)` gives an element with its range for what stands there; `onChange` hears of each change. */
  constructor(parent, { onChange, figureAt }) {
    const hover = hoverTooltip((view, at) => {
      const found = figureAt(at, view.state.doc);
      return found && { pos: found.from, end: found.to, above: true, create: () => ({ dom: found.dom }) };
    });
    this.extensions = [
      lineNumbers(), highlightActiveLine(), highlightActiveLineGutter(), history(), drawSelection(), indentOnInput(),
      bracketMatching(), yaml(), syntaxHighlighting(classHighlighter), lintGutter(), hover,
      keymap.of([...defaultKeymap, ...historyKeymap, ...lintKeymap]),
      EditorView.contentAttributes.of({ "aria-label": "Text of the file", tabindex: "0" }),
      EditorView.updateListener.of((update) => update.docChanged && onChange()),
    ];
    this.view = new EditorView({ parent, state: this.stateOf("") });
  }

  stateOf(text) {
    return EditorState.create({ doc: text, extensions: this.extensions });
  }

  show(state) {
    this.view.setState(state);
  }

  mark(diagnostics) {
    this.view.dispatch(setDiagnostics(this.view.state, diagnostics));
  }

  go(range) {
    this.view.dispatch({ selection: { anchor: range.from }, effects: EditorView.scrollIntoView(range.from, { y: "center" }) });
    this.view.focus();
  }
}
