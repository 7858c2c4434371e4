/** Long computations in steps: taken apart or at one go, asked for in any order, they come to the same; and no step is the whole. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type Checked, createDocument } from '../../server/core/document/document';
import { finish, kept, patiently, type Work } from '../../server/core/work/work';

const FOLDER = join(__dirname, '../../samples');
const SAMPLES = readdirSync(FOLDER).filter((name) => name.endsWith('.rig'));

const documentOf = (text: string) => createDocument({ uri: 'file:///a.rig', version: 1, text }, () => undefined);

/** A pulse that restarts itself every few milliseconds behind delays of hours. */
const BUSY = `rig busy {
  controller { response 1 ms }
  switch on = off
  door d { travel 50 ms }
  chamber a { volume 1 m3 }
  chamber b { volume 1 m3 }
  sensor s on a { pressure above 2 bar }
  stack a > d > b
  signal w = TP(not w and s, 3 ms)
  signal v = TON(TOF(w, 1 h), 2 h)
  drive d = v or on
}`;

describe('work in steps', () => {
  it.each(SAMPLES)('%s gives the same problems and verdicts in steps', (name) => {
    const text = readFileSync(join(FOLDER, name), 'utf8');
    const document = documentOf(text);
    const whole = documentOf(text);
    // Something of the later phases is read in the middle of the work.
    const mixed = document.work();
    for (let i = 0; i < 40; i++) mixed.next();
    document.analysed().forEach((facts) => void facts.flow?.filling);
    expect(finish(mixed as Work<Checked>)).toEqual(whole.checked());
    expect(document.verdicts().map((v) => v.verdict)).toEqual(whole.verdicts().map((v) => v.verdict));
  });

  it('a rig of thousands of instants is left and returned to hundreds of times', () => {
    const steps = documentOf(BUSY).work();
    let count = 0;
    for (let step = steps.next(); !step.done; step = steps.next()) count++;
    expect(count).toBeGreaterThan(100);
  });

  it('a value kept is computed once by whoever asks, and begun again after an error', () => {
    let runs = 0;
    const value = kept(function* (): Work<number> {
      runs++;
      yield;
      if (runs === 1) throw new Error('first');
      yield;
      return 7;
    });
    expect(() => value.value()).toThrow('first');
    const half = value.work();
    half.next();
    expect(value.value()).toBe(7);
    expect(half.next()).toEqual({ done: true, value: 7 });
    expect(runs).toBe(2);
  });

  it('a reader that does not know what takes long is called again once that is there, and nothing is computed twice', () => {
    const log: string[] = [];
    const slow = (name: string) =>
      kept(function* (): Work<number> {
        for (let k = 0; k < 5; k++) yield;
        log.push(name);
        return 5;
      });
    const inner = slow('inner');
    const outer = kept(function* (): Work<number> {
      yield;
      return inner.value() + 1;
    });
    const other = slow('other');
    const work = patiently(() => outer.value() * 10 + other.value());
    let steps = 0;
    let step = work.next();
    for (; !step.done; step = work.next()) steps++;
    expect(step.value).toBe(65);
    expect(log).toEqual(['inner', 'other']);
    expect(steps).toBeGreaterThan(5);
    // A reader of very many values is not called once for each of them, nor are they computed at one go.
    let calls = 0;
    const many = Array.from({ length: 2000 }, (_, k) => slow(`value ${k}`));
    const reading = patiently(() => {
      calls++;
      return many.reduce((sum, value) => sum + value.value(), 0);
    });
    let between = 0;
    for (let next = reading.next(); !next.done; next = reading.next()) between++;
    expect(calls).toBeLessThan(300);
    expect(between).toBeGreaterThan(500);
    // Outside, a value is computed at one go, as ever; errors of the reader are its own.
    expect(slow('alone').value()).toBe(5);
    const failing = patiently(() => {
      throw new Error('own');
    });
    expect(() => finish(failing)).toThrow('own');
    expect(slow('after an error').value()).toBe(5);
  });
});
