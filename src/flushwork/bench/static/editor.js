// @ts-check
// The editor over the plain field of the job's text: completion from the schema, slips in the margin.
// The field stays the text that the page sends, and stands in where the editor does not load.

import { answered, ask, failed } from '/static/asked.js';
import { namesUnder, offered, placeOf } from '/static/completion.js';
import { changeOf } from '/static/steps.js';

/** The words of a slip and what to do about it. */
export function slipWords(slip) {
  const remedy = slip.remedy ? ` ${slip.remedy[0].toUpperCase()}${slip.remedy.slice(1)}.` : '';
  return `${slip.key ? `${slip.key}: ` : ''}${slip.message}.${remedy}`;
}

// what names a value by a name of the job; a list of names has no key of its own
const NAMED = { fill: 'mixes', mix: 'mixes', cap: 'mixes' };

export class Editor {
  /**
   * @param {any} text the job's text, which hears of what is typed
   */
  constructor(text) {
    this.text = text;
    this.host = document.createElement('div');
    this.host.id = 'editor';
    /** @type {Promise<any>} what may stand in a job file; nothing where it did not come */
    this.schema = Promise.resolve(null);
    this.slips = [];
  }

  // drawn in when somebody is about to type: it is larger than all the rest of the page's code
  async open() {
    if (this.opening) return;
    this.opening = true;
    try {
      this.own = await import('/static/codemirror.js');
      answered('editor');
    } catch (error) {
      this.opening = false;
      failed('editor', `The text stands in a plain field, without completion, since its editor did not come: ${error.message}`);
      return;
    }
    this.schema = this.learn();
    this.mount();
  }

  async learn() {
    try {
      const schema = await ask('/schema');
      answered('schema');
      return schema;
    } catch (error) {
      failed('schema', `Keys and values are not offered while you type: ${error.message}`);
      return null;
    }
  }

  mount() {
    const { area } = this.text, { EditorState, EditorView } = this.own;
    // a root of its own: what the editor styles as it goes, the page's policy lets in there alone
    const root = this.host.attachShadow({ mode: 'open', delegatesFocus: true });
    const had = document.activeElement === area, at = area.selectionStart, top = area.scrollTop;
    area.before(this.host);
    this.view = new EditorView({
      state: EditorState.create({ doc: area.value, extensions: this.extensions() }), parent: root, root,
    });
    this.view.dispatch({ selection: { anchor: Math.min(at, this.view.state.doc.length) } });
    // it keeps its place on the page, out of sight and reach
    area.tabIndex = -1;
    area.setAttribute('aria-hidden', 'true');
    area.closest('.sheet').classList.add('edited');
    if (had) this.view.focus();
    this.view.scrollDOM.scrollTop = top;
    this.mark(this.slips);
  }

  extensions() {
    const { own, text } = this, act = (work) => () => { work(); return true; };
    return [
      own.lineNumbers(), own.drawSelection(), own.highlightActiveLine(), own.indentUnit.of('  '),
      own.yaml(), own.syntaxHighlighting(highlights(own)), own.lintGutter(), own.search({ top: true }),
      own.autocompletion({ override: [(context) => this.complete(context)], icons: false }),
      // Tab goes on to the next thing of the page, as everywhere
      own.keymap.of([
        { key: 'Mod-s', run: act(() => text.save()) },
        { key: 'Mod-z', run: act(() => text.back()), shift: act(() => text.on()) },
        { key: 'Mod-y', run: act(() => text.on()) },
        ...own.completionKeymap, ...own.lintKeymap, ...own.searchKeymap, ...own.defaultKeymap,
      ]),
      own.EditorView.contentAttributes.of(() => ({
        'aria-label': 'The text of the job', 'aria-invalid': String(this.slips.length > 0), 'aria-multiline': 'true', tabindex: '0', spellcheck: 'false', autocapitalize: 'off',
      })),
      own.EditorView.theme(LOOK),
      own.EditorView.updateListener.of((update) => {
        if (!update.docChanged || update.transactions.every((each) => each.annotation(own.Transaction.userEvent) === 'put')) return;
        text.area.value = update.state.doc.toString();
        text.typed();
      }),
    ];
  }

  // the field has become another: the place in the text and what is in sight stay
  put(whole) {
    if (!this.view) return;
    const now = this.view.state.doc.toString();
    if (now !== whole) this.view.dispatch({ changes: changeOf(now, whole), userEvent: 'put' });
  }

  // slips at their line, in the margin and under the words
  mark(slips) {
    this.slips = slips;
    if (!this.view) return;
    const { doc } = this.view.state;
    const told = slips.filter((slip) => slip.line >= 1 && slip.line <= doc.lines).map((slip) => {
      const line = doc.line(slip.line), from = Math.min(line.to, line.from + Math.max(0, (slip.column ?? 1) - 1));
      return { from, to: Math.max(from, line.to), severity: 'error', message: slipWords(slip) };
    });
    this.view.dispatch(this.own.setDiagnostics(this.view.state, told));
  }

  goTo(line, column) {
    const { doc } = this.view.state, at = doc.line(Math.max(1, Math.min(doc.lines, line)));
    const anchor = Math.min(at.to, at.from + column - 1);
    this.view.focus();
    this.view.dispatch({ selection: { anchor }, effects: this.own.EditorView.scrollIntoView(anchor, { y: 'center' }) });
  }

  async complete(context) {
    const whole = context.state.doc.toString(), place = placeOf(whole, context.pos);
    if (!place || (!place.word && !context.explicit)) return null;
    const schema = await this.schema;
    if (!schema) return null;
    const named = (what) => (what in NAMED ? namesUnder(whole, NAMED[what]) : []);
    const options = offered(schema, place, named).map((each) => ({
      label: each.label, detail: each.detail, info: each.info || undefined, type: each.key ? 'property' : 'constant',
      apply: each.key ? `${each.label}: ` : each.label,
    }));
    return options.length ? { from: place.from, options, validFor: /^[^:,#{}[\]\n]*$/ } : null;
  }
}

function highlights(own) {
  const { tags } = own;
  return own.HighlightStyle.define([
    { tag: tags.comment, color: 'var(--soft)', fontStyle: 'italic' },
    { tag: [tags.propertyName, tags.definition(tags.propertyName)], color: 'var(--accent)' },
    { tag: [tags.punctuation, tags.separator, tags.squareBracket, tags.brace], color: 'var(--soft)' },
  ]);
}

const MONO = 'ui-monospace, "DejaVu Sans Mono", Menlo, Consolas, monospace';
const LOOK = {
  '&': { height: '100%', color: 'var(--ink)', backgroundColor: 'transparent' },
  '&.cm-focused': { outline: '2px solid var(--accent)', outlineOffset: '-2px' },
  '.cm-scroller': { fontFamily: MONO, fontSize: '15px', lineHeight: '1.55' },
  '.cm-content': { caretColor: 'var(--ink)', padding: '.8rem 0' },
  '.cm-gutters': { backgroundColor: 'transparent', color: 'var(--soft)', border: '0' },
  '.cm-activeLine': { backgroundColor: 'color-mix(in srgb, var(--accent) 9%, transparent)' },
  '.cm-cursor': { borderLeftColor: 'var(--ink)', borderLeftWidth: '2px' },
  '&.cm-focused > .cm-scroller > .cm-selectionLayer .cm-selectionBackground, .cm-selectionBackground': { background: 'color-mix(in srgb, var(--accent) 28%, transparent)' },
  '.cm-tooltip, .cm-panels': { backgroundColor: 'var(--page)', color: 'var(--ink)', border: '1px solid var(--soft)' },
  '.cm-tooltip': { maxWidth: 'min(34rem, 90vw)' },
  '.cm-tooltip-autocomplete > ul': { fontFamily: MONO, fontSize: '14px' },
  '.cm-tooltip-autocomplete > ul > li': { minHeight: '24px', lineHeight: '24px !important' },
  '.cm-tooltip-autocomplete > ul > li[aria-selected]': { background: 'var(--accent) !important', color: 'var(--page) !important' },
  '.cm-completionDetail': { color: 'inherit', fontStyle: 'normal', opacity: '.85' },
  '.cm-completionInfo': { padding: '.4rem .6rem', fontFamily: 'Lato, sans-serif' },
  '.cm-diagnostic': { fontFamily: 'Lato, sans-serif', borderLeftColor: 'var(--must-fix)' },
  '.cm-lint-marker': { cursor: 'default' },
  '.cm-panels button, .cm-panels input': { font: 'inherit', color: 'var(--ink)', background: 'var(--page)', border: '1px solid var(--soft)', minHeight: '24px' },
  '.cm-searchMatch': { backgroundColor: 'color-mix(in srgb, var(--accent) 30%, transparent)' },
};
