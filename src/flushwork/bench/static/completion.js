// @ts-check
// What may stand at a place of a job's text, by its schema: keys that are not there yet, and values.

/**
 * A part of a JSON Schema, as far as it is looked at here.
 * @typedef {{ $ref?: string, $defs?: Record<string, Node>, anyOf?: Node[], oneOf?: Node[], description?: string,
 *   properties?: Record<string, Node>, additionalProperties?: Node | boolean, items?: Node, type?: string | string[],
 *   enum?: unknown[], examples?: unknown[], default?: unknown }} Node
 */
/**
 * Where a place lies: the steps that lead to it (a key, or null for an item of a list), the keys that stand
 * beside it before, whether a value is wanted there, and what has been written of it.
 * @typedef {{ path: (string | null)[], there: Set<string>, value: boolean, word: string, from: number }} Place
 */

const KEY = /^(?:"([^"]*)"|'([^']*)'|([^\s#&*!|>%@`"'{}[\],:][^#{}[\],:]*?))\s*:(?=\s|$)\s*/;

/**
 * Read a text up to a place, as far as its layout tells where that lies.
 * @param {string} text
 * @param {number} at
 * @returns {Place | null} nothing within a remark
 */
export function placeOf(text, at) {
  /** @type {{ indent: number, key: string | null, there: Set<string> }[]} */
  let blocks = [];
  /** @type {{ map: boolean, key: string | null, there: Set<string>, begun: number }[]} */
  const flow = [];
  const top = new Set();
  const begins = text.lastIndexOf('\n', at - 1) + 1;
  let value = false, from = begins;
  let begin = 0;
  for (const line of text.slice(0, at).split('\n')) {
    let i = 0;
    if (!flow.length) {
      value = false;
      i = line.length - line.trimStart().length;
      if (i === line.length && begin < begins) { begin += line.length + 1; continue; }
      const within = (/** @type {number} */ indent) => { blocks = blocks.filter((each) => each.indent < indent); };
      while (line[i] === '-' && (line[i + 1] === ' ' || i + 1 === line.length)) {
        // a list may stand as far in as its key
        blocks = blocks.filter((each) => each.indent < i || (each.indent === i && each.key !== null));
        blocks.push({ indent: i, key: null, there: new Set() });
        i += 1;
        while (line[i] === ' ') i++;
      }
      const found = KEY.exec(line.slice(i));
      if (found && i + found[0].length <= line.length) {
        const key = found[1] ?? found[2] ?? found[3];
        const list = blocks.at(-1);
        if (!(list?.key === null && list.indent < i)) within(i);
        const beside = blocks.findLast((each) => each.indent < i)?.there ?? top;
        beside.add(key);
        blocks = blocks.filter((each) => each.indent < i);
        blocks.push({ indent: i, key, there: new Set() });
        i += found[0].length;
        value = true;
      } else if (begin === begins) within(i);
      from = begin + i;
    } else from = begin;
    for (; i < line.length; i++) {
      const c = line[i], here = flow.at(-1);
      if (c === '#' && (i === 0 || line[i - 1] === ' ')) { if (begin === begins) return null; break; }
      if (c === '"' || c === "'") {
        const shut = line.indexOf(c, i + 1);
        if (shut < 0) break;
        i = shut;
      } else if ((c === '{' || c === '[') && (here || /^\s*$/.test(line.slice(Math.max(0, from - begin), i)))) {
        flow.push({ map: c === '{', key: null, there: new Set(), begun: begin + i + 1 });
      } else if (here && (c === '}' || c === ']')) flow.pop();
      else if (here && c === ',') { here.key = null; here.begun = begin + i + 1; } else if (here?.map && c === ':' && here.key === null && (line[i + 1] === ' ' || i + 1 === line.length)) {
        here.key = text.slice(here.begun, begin + i).trim().replace(/^(["'])(.*)\1$/, '$2');
        here.there.add(here.key);
        here.begun = begin + i + 1;
      }
    }
    begin += line.length + 1;
  }
  const path = blocks.map((each) => each.key), here = flow.at(-1);
  for (const each of flow) path.push(each.map ? each.key : null);
  if (here?.map && here.key === null) path.pop();
  if (here) {
    value = here.key !== null || !here.map;
    from = here.begun;
  }
  while (from < at && /\s/.test(text[from])) from++;
  return { path, there: here?.map ? here.there : blocks.at(-1)?.there ?? top, value, word: text.slice(from, at), from };
}

/**
 * All that a part of a schema may be.
 * @param {Node} schema
 * @param {Node | boolean | undefined} node
 * @param {number} [deep]
 * @returns {Node[]}
 */
function kinds(schema, node, deep = 0) {
  if (!node || node === true || deep > 12) return [];
  const name = node.$ref?.split('/').at(-1), more = [...(node.anyOf ?? []), ...(node.oneOf ?? [])];
  return [node, ...kinds(schema, name ? schema.$defs?.[name] : undefined, deep + 1), ...more.flatMap((each) => kinds(schema, each, deep + 1))];
}

/**
 * What may stand at a place: its words, and what each is for.
 * @param {Node} schema
 * @param {Place} place
 * @param {(what: string) => string[]} [named] names that the job itself gives
 * @returns {{ label: string, detail: string, info: string, key: boolean }[]}
 */
export function offered(schema, place, named = () => []) {
  let nodes = kinds(schema, schema);
  for (const step of place.path) {
    nodes = nodes.flatMap((node) => kinds(schema, step === null ? node.items : node.properties?.[step] ?? node.additionalProperties));
  }
  const found = new Map();
  const say = (/** @type {string} */ label, /** @type {string} */ detail, /** @type {string} */ info, key = false) => { if (label && !found.has(label)) found.set(label, { label, detail, info, key }); };
  const about = nodes.find((node) => node.description)?.description ?? '';
  if (place.value) {
    for (const name of named(place.path.at(-1) ?? '')) say(name, 'in this job', about);
    for (const node of nodes) {
      for (const each of node.enum ?? []) say(String(each), each === node.default ? 'unless you say' : '', about);
      if (node.type === 'boolean') for (const each of ['yes', 'no']) say(each, '', about);
      if (node.default !== undefined && node.default !== null && typeof node.default !== 'object') say(String(node.default), 'unless you say', about);
      for (const each of node.examples ?? []) if (typeof each !== 'object') say(String(each), 'for example', about);
    }
    return [...found.values()];
  }
  for (const node of nodes) {
    for (const [key, each] of Object.entries(node.properties ?? {})) {
      if (place.there.has(key)) continue;
      const [first] = kinds(schema, each).filter((kind) => kind.examples?.length || kind.default !== undefined);
      const shown = first?.default ?? first?.examples?.[0];
      const told = typeof shown === 'object' || shown === undefined ? '' : String(shown);
      say(key, told, kinds(schema, each).find((kind) => kind.description)?.description ?? '', true);
    }
  }
  return [...found.values()];
}

/**
 * The names under a key of a job's text that stands at its left edge, such as its mixes.
 * @param {string} text
 * @param {string} key
 */
export function namesUnder(text, key) {
  const lines = text.split('\n'), at = lines.findIndex((line) => line.startsWith(`${key}:`)), names = [];
  if (at < 0) return names;
  const inline = lines[at].slice(key.length + 1).trim();
  if (inline.startsWith('{')) return [...inline.matchAll(/[{,]\s*([^{}[\],:]+?)\s*:\s*[{[]/g)].map((found) => found[1]);
  let indent = 0;
  for (const line of lines.slice(at + 1)) {
    if (!line.trim() || line.trim().startsWith('#')) continue;
    const inward = line.length - line.trimStart().length;
    if (!inward) break;
    indent ||= inward;
    const found = inward === indent ? KEY.exec(line.slice(inward)) : null;
    if (found) names.push(found[1] ?? found[2] ?? found[3]);
  }
  return names;
}
