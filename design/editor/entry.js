// What the page needs of CodeMirror 6, as one file; design/editor/package.json says how it is written.
export { EditorState, Transaction } from '@codemirror/state';
export { EditorView, keymap, lineNumbers, highlightActiveLine, drawSelection } from '@codemirror/view';
export { defaultKeymap } from '@codemirror/commands';
export { autocompletion, completionKeymap } from '@codemirror/autocomplete';
export { setDiagnostics, lintGutter, lintKeymap } from '@codemirror/lint';
export { searchKeymap, search } from '@codemirror/search';
export { yaml } from '@codemirror/lang-yaml';
export { syntaxHighlighting, HighlightStyle, indentUnit } from '@codemirror/language';
export { tags } from '@lezer/highlight';
