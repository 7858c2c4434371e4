/**
 * Proofs: every sample (seconds, symbolic states, zones), growth with the number of doors, and Fischer's protocol against an explicit-state
 * exploration of the same model in integer time by Spin (Debian package spin, verifier compiled by gcc -O2) in the same run. With exact
 * integer times both decide the same question: the zones cover what Spin walks through tick by tick.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createDocument } from '../../server/core/document/document';
import type { Rig } from '../../server/core/model/rig';
import { proveRig } from '../../server/core/run/prove-rig';
import { automataSystem } from '../support/automaton';
import { createExploration } from '../../server/core/proof/explore';
import { fischer } from '../support/fischer';

interface Cost {
  readonly ms: number;
  readonly states: number;
  readonly verdict: string;
}

const cpu = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};

function proofCost(rig: Rig): Cost & { readonly kib: number } {
  const begun = cpu();
  const { proof } = proveRig(rig);
  while (!proof.run(500) && proof.explored < 200_000);
  const counts = new Map<string, number>();
  for (const { verdict } of proof.results()) counts.set(verdict.state, (counts.get(verdict.state) ?? 0) + 1);
  const verdict = [...counts].map(([state, n]) => `${n} ${state}`).join(', ');
  return { ms: cpu() - begun, states: proof.explored, verdict, kib: proof.bytes / 1024 };
}

function rigsIn(text: string, uri: string): Rig[] {
  return createDocument({ uri, version: 0, text }, () => undefined)
    .analysed()
    .map((facts) => facts.rig);
}

function samples(): void {
  for (const folder of ['samples', 'samples/refuted']) {
    for (const name of readdirSync(folder).filter((file) => file.endsWith('.rig'))) {
      for (const rig of rigsIn(readFileSync(join(folder, name), 'utf8'), `file:///${name}`)) {
        const { ms, states, verdict, kib } = proofCost(rig);
        const size = `${rig.doors.length} doors, ${rig.network.elements.length} elements`;
        console.log(
          `  ${rig.name.padEnd(18)} ${size}: ${(ms / 1000).toFixed(2)} s cpu, ${states} states, ${kib.toFixed(0)} KiB of zones: ${verdict}`,
        );
      }
    }
  }
}

/** A stack of `doors` doors that open one after the other, each when the one before has been off for a while. */
function chain(doors: number): string {
  const names = Array.from({ length: doors }, (_, k) => `d${k}`);
  const signals = names.map((name, k) =>
    k === 0
      ? 'signal d0_on = TP(seen, 1 s +- 50 ms)'
      : `signal ${name}_on = TP(TON(seen, ${k * 2} s +- 50 ms), 1 s +- 50 ms)`,
  );
  return [
    'rig chain {',
    'medium air',
    'chamber a { volume 1 m3 pressure 1 bar }',
    'chamber b { volume 1 m3 pressure 1 bar }',
    ...names.map((name) => `door ${name} { pocket 1 L travel 200 ms +- 20 ms }`),
    `stack a > ${names.join(' > ')} > b`,
    'controller { response 20 ms +- 5 ms }',
    'switch run = on',
    'sensor full on a { pressure above 2 bar clears below 1.5 bar }',
    'signal go = run and full and not hold',
    `signal seen = TOF(go, ${doors * 2 + 1} s)`,
    'signal hold = TOF(seen, 3 s)',
    ...signals,
    ...names.map((name) => `drive ${name} = ${name}_on`),
    '}',
  ].join('\n');
}

function growth(): void {
  let before = 0;
  for (let doors = 1; doors <= 4; doors++) {
    const [rig] = rigsIn(chain(doors), 'file:///chain.rig');
    const { ms, states, verdict } = proofCost(rig);
    const times = before > 0 ? `, ${(states / before).toFixed(1)} times the states of one door less` : '';
    console.log(`  ${doors} doors: ${(ms / 1000).toFixed(2)} s cpu, ${states} states${times}: ${verdict}`);
    before = states;
  }
}

function zones(processes: number, write: number, wait: number): Cost {
  const begun = cpu();
  const exploration = createExploration(automataSystem(fischer(processes, write, wait)));
  while (!exploration.run(10_000) && exploration.broken.size === 0);
  return { ms: cpu() - begun, states: exploration.stored, verdict: exploration.broken.size > 0 ? 'broken' : 'safe' };
}

/** The same protocol with time in ticks: clocks are counters up to the greatest constant, one process lets time pass. */
function promela(processes: number, write: number, wait: number): string {
  const most = Math.max(write, wait) + 1;
  const each = (body: (id: number) => string): string =>
    Array.from({ length: processes }, (_, k) => body(k + 1)).join(' ');
  return `
byte owner = 0; byte inside = 0; byte clock[${processes + 1}]; bool asking[${processes + 1}];
proctype process(byte id) {
idle: atomic { owner == 0 -> clock[id] = 0; asking[id] = true };
ask:  atomic { owner = id; clock[id] = 0; asking[id] = false };
hold: if
  :: atomic { owner == id && clock[id] >= ${wait} -> inside++; assert(inside == 1) }; goto crit
  :: atomic { owner != id -> clock[id] = 0; goto idle }
  fi;
crit: atomic { inside--; owner = 0; clock[id] = 0; goto idle }
}
proctype tick() {
  do :: atomic { ${Array.from({ length: processes }, (_, k) => `(!asking[${k + 1}] || clock[${k + 1}] < ${write})`).join(' && ')} ->
    ${each((id) => `if :: clock[${id}] < ${most} -> clock[${id}]++ :: else fi;`)} }
  od
}
init { atomic { ${each((id) => `run process(${id});`)} run tick() } }
`;
}

function spin(processes: number, write: number, wait: number, folder: string): Cost | null {
  writeFileSync(join(folder, 'fischer.pml'), promela(processes, write, wait));
  const shell = (command: string) => spawnSync('bash', ['-c', command], { cwd: folder, encoding: 'utf8' });
  const built = shell('spin -a fischer.pml && gcc -O2 -DSAFETY -DMEMLIM=2048 -o pan pan.c');
  if (built.status !== 0) return null;
  const { stdout, stderr } = shell(`TIMEFORMAT='cpu %U %S'; time timeout 120 ./pan -m1000000 -w24`);
  const [, user, system] = /cpu ([\d.]+) ([\d.]+)/.exec(stderr)!;
  const states = Number(/([\d.e+]+) states, stored/.exec(stdout)?.[1] ?? NaN);
  const verdict = /errors: 0/.test(stdout) ? 'safe' : 'broken';
  return { ms: (Number(user) + Number(system)) * 1000, states, verdict };
}

function race(): void {
  const folder = mkdtempSync(join(tmpdir(), 'caisson-proof-'));
  try {
    for (const [processes, write, wait] of [
      [3, 10, 11],
      [4, 10, 11],
      [4, 20, 21],
      [5, 4, 5],
      [5, 10, 11],
    ] as const) {
      const ours = zones(processes, write, wait);
      console.log(
        `  Fischer ${processes}, write ${write}, wait ${wait}: ${ours.verdict}, ${ours.states} zones, ${ours.ms.toFixed(0)} ms cpu`,
      );
      const theirs = processes === 5 && write > 4 ? null : spin(processes, write, wait, folder);
      if (!theirs) continue;
      console.log(
        `    Spin: ${theirs.verdict}, ${theirs.states} states, ${theirs.ms.toFixed(0)} ms cpu (compilation left out): ` +
          `${(theirs.states / ours.states).toFixed(1)} times the states, zones ${(theirs.ms / ours.ms).toFixed(2)} times as fast`,
      );
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

console.log('samples');
samples();
console.log('growth with the number of doors');
growth();
console.log("Fischer's protocol");
race();
