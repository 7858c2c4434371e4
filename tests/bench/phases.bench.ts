import { parse } from '../../grammar/src/api';
import { createDocument, type RigDocument } from '../../server/core/document/document';
import { median, rigText } from './texts';
const lines = Number(process.env.LINES ?? 1000);
const text = rigText(lines);
const preset = /TOF\([^\n]*?(\d)(?:\.\d+)? s\)/g;
preset.lastIndex = text.length >> 1;
const match = preset.exec(text)!;
const at = match.index + match[0].lastIndexOf(match[1]!);
console.log('edit in', text.slice(0, at).match(/^rig .*$/gm)!.at(-1), match[0]);
const edited = (k: number) => text.slice(0, at) + String((k % 5) + 1) + text.slice(at + 1);
let last: RigDocument = createDocument({ uri: 'file:///b.rig', version: 0, text }, () => undefined, {});
last.problems();
const rows: Record<string, number[]> = {};
const note = (n: string, t: number) => (rows[n] ??= []).push(t);
for (let k = 1; k < 60; k++) {
  const t = edited(k);
  let s = performance.now();
  const go = (n: string) => { const e = performance.now(); note(n, e - s); s = performance.now(); };
  parse(t); go('parse alone'); 
  const d = createDocument({ uri: 'file:///b.rig', version: k, text: t }, () => undefined, {}, last);
  d.parsed(); go('parsed');
  d.resolved(); go('resolved');
  const w = d.work();
  for (;;) { const st = w.next(); if (st.value && !st.done) { go('early'); } if (st.done) break; }
  go('rest');
  last = d;
}
for (const [n, v] of Object.entries(rows)) console.log(n, median(v.slice(10)).toFixed(2), 'max', Math.max(...v.slice(10)).toFixed(1));
