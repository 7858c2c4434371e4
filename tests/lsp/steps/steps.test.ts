/**
 * Nothing that is asked of the server keeps the others waiting: every handler that it registers comes back to the event loop between
 * bounded pieces of work, and ends early once it is cancelled. Work is counted in calls and turns of loops, not timed.
 * STEPS_AFTER sets after how many returns to the event loop the requests about the hard rigs are cancelled.
 */
import { beforeAll, describe, expect, it } from 'vitest';
import { countedServer, type Counted } from './counted-bundle';
import { doorsWithTolerances, KILLER, timersAtOnce } from '../../support/hard-rigs';
import { served, TICKS, type Course } from './recorded';
import { NOT_ASKED, requestsOf, type Place } from './requests';

/**
 * Ticks between two returns to the event loop: a slice of work, and the longest single step in it, of a text of two thousand lines or of
 * twelve doors with tolerances (1,543,000 ticks at most when this was set).
 */
const MOST = 32 * TICKS;
/** A proof takes its turns here only where there are no threads, in the browser; its turns are longer. */
const most = (params: object): number => ('command' in params && params.command === 'caisson.prove' ? 3 : 1) * MOST;
const CANCELLED = -32800;
const AFTER = Number(process.env['STEPS_AFTER'] ?? 8);

interface Subject {
  readonly name: string;
  readonly text: string;
  readonly rig: string;
}

const doors = (count: number): Subject => ({
  name: `${count} doors with tolerances`,
  text: doorsWithTolerances(count),
  rig: 'loose_doors',
});
const timers = (count: number): Subject => ({
  name: `${count} timers on one sensor`,
  text: timersAtOnce(count),
  rig: 'many_timers',
});
const killer: Subject = { name: 'fourteen lines that turn round for ever', text: KILLER, rig: 'killer' };

const uri = 'file:///yard/a.rig';
const other = 'file:///yard/b.rig';

/** Of which every hard rig has one. */
const door = 'd0';

function placeIn({ text, rig }: Subject): Place {
  const at = (offset: number) => {
    const lines = text.slice(0, offset).split('\n');
    return { line: lines.length - 1, character: lines.at(-1)!.length };
  };
  const start = text.indexOf(`door ${door} `) + 'door '.length;
  const required = Math.max(0, text.indexOf('require ')) + 2;
  return { uri, other, rig, door, at: at(start), requirement: at(required), end: at(text.length) };
}

let counted: Counted;
beforeAll(async () => {
  counted = await countedServer();
}, 300_000);

/** Asks a server of its own. */
async function follow(subject: Subject, name: string, params: object, stopAfter?: number): Promise<Course> {
  const server = served(counted);
  await server.start([
    [uri, subject.text],
    [other, subject.text.replace('travel 100 ms', 'travel 101 ms')],
  ]);
  const course = await server.follow(name, params, stopAfter);
  expect(server.sent.filter(({ by }) => by.startsWith('console'))).toEqual([]);
  return course;
}

const requests = (subject: Subject) =>
  Object.entries(requestsOf(placeIn(subject))).flatMap(([name, all]) => all.map((params) => ({ name, params })));

describe('the handlers of requests', () => {
  it('are all asked below', async () => {
    const server = served(counted);
    await server.start([]);
    const registered = [...server.handlers.keys()].filter((name) => !NOT_ASKED.has(name));
    expect(Object.keys(requestsOf(placeIn(killer))).sort()).toEqual(registered.sort());
  });

  it('are counted: what does a thing more often has more ticks', async () => {
    // Once before: the lexer makes itself ready at the first text.
    await follow(timers(40), 'onFoldingRanges', { textDocument: { uri } });
    const few = await follow(timers(40), 'onFoldingRanges', { textDocument: { uri } });
    const many = await follow(timers(80), 'onFoldingRanges', { textDocument: { uri } });
    const sum = ({ pieces }: Course): number => pieces.reduce((a, b) => a + b, 0);
    expect(sum(many) / sum(few)).toBeGreaterThan(1.5);
  });
});

describe.each([doors(400), timers(1500), killer])('asked about $name and cancelled', (subject) => {
  it.each(requests(subject))('$name ends early', async ({ name, params }) => {
    const { pieces, result } = await follow(subject, name, params, AFTER);
    expect(Math.max(...pieces)).toBeLessThan(most(params));
    // Pauses come in pairs; after the one in which it is cancelled a request does no more than see it.
    expect(pieces.length).toBeLessThanOrEqual(AFTER + 6);
    if (pieces.length <= AFTER) return;
    // A report of the folders that was given up lists nothing new.
    if (name === 'languages.diagnostics.onWorkspace') expect(result).toEqual({ items: [] });
    else expect((result as { code?: number } | null)?.code).toBe(CANCELLED);
  });
});

describe.each([doors(12), timers(60), killer])('asked about $name to the end', (subject) => {
  it.each(requests(subject))('$name works in bounded pieces', async ({ name, params }) => {
    const { pieces, result } = await follow(subject, name, params);
    expect(Math.max(...pieces)).toBeLessThan(most(params));
    expect(result).not.toBeInstanceOf(Error);
  });
});
