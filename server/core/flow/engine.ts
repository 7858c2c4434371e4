/**
 * The flow engine behind one face: a model, contents, and steps that change them. Where no opening is stated, connected cells equalise
 * at once (balance.ts); where one is, flow goes through the openings (openings.ts, liquid-orifice.ts). Whatever asks for strokes asks
 * here, so that a rig with stated openings is answered through them everywhere.
 *
 * Which level answers is decided once, here, by medium and statements; callers see `step` and nothing of how it is done.
 */
import { Balance } from './balance';
import { LiquidOrifice } from './liquid-orifice';
import { Openings, type OpeningsOptions } from './openings';
import type { Program } from './program';
import type { Contents } from './contents';
import type { FlowEngine, FlowModel, Level } from './rig-model';
import type { StrokeWatch } from './watch';
import { finish, type Work } from '../work/work';

/** Level at which a model is answered. */
export const levelOf = ({ areas, law }: FlowModel): Level => (areas && law.phase !== 'packed' ? 'openings' : 'instant');

/** The engine for a model at the level that what is stated asks for. `options`: how closely what flows through openings is integrated. */
export function engineOf(model: FlowModel, contents: Contents, options: OpeningsOptions = {}): FlowEngine {
  const { law, areas } = model;
  if (law.phase === 'gas') {
    if (areas) return new Openings({ ...model, law }, contents, options);
    const isMixed = law.exponent !== 1 && law.isIdeal !== true;
    // A real gas that changes its temperature has no closed form: openings that are as good as wide.
    if (isMixed) return new Openings({ ...model, law, areas: asGoodAsWide(model) }, contents, options);
  }
  if (law.phase === 'liquid' && areas) return new LiquidOrifice({ ...model, law, areas }, contents, options.relative);
  return new Balance(model, contents);
}

/** Areas, m2, through which the largest pocket (where there is none: the smallest chamber) equalises in about a millisecond. */
function asGoodAsWide({ network }: FlowModel): Float64Array {
  const pocket = network.open.reduce((most, v) => Math.max(most, v), 0);
  const chamber = network.volume.reduce((least, v) => (v > 0 ? Math.min(least, v) : least), Infinity);
  return new Float64Array(network.doors).fill((pocket > 0 ? pocket : chamber) / (SOUND * 1e-3));
}

/** Speed of sound of a common gas, m/s: only the size matters. */
const SOUND = 300;

/** Runs one stroke (or one period of several) in place; false where it could not be followed. */
export const runStroke = (engine: FlowEngine, program: Program, watch: StrokeWatch = {}): boolean =>
  finish(strokeWork(engine, program, watch));

/** The same in steps. */
export function* strokeWork(engine: FlowEngine, program: Program, watch: StrokeWatch): Work<boolean> {
  for (const step of program.steps) {
    const isFollowed = engine.stepWork ? yield* engine.stepWork(step, watch) : engine.step(step, watch);
    if (!isFollowed) return false;
  }
  yield;
  return true;
}

/** Contents at the start: chambers as the rig gives them; pockets hold what the nearest upstream chamber's density gives. */
export function startContents(model: FlowModel, startVolumes: Float64Array): Contents {
  const { network, vessels, law, start } = model;
  const cells = network.chambers + network.doors;
  const mass = new Float64Array(cells);
  const temperature = new Float64Array(cells).fill(law.temperature);
  start.forEach((m, chamber) => {
    mass[chamber] = m;
    temperature[chamber] = vessels[chamber]!.temperature;
  });
  const pressure = pocketPressures(model);
  for (let cell = network.chambers; cell < cells; cell++) {
    mass[cell] = pocketDensity(model, pressure[cell]!) * startVolumes[cell]!;
  }
  return { mass, temperature };
}

/** kg/m3 from what `pocketPressures` gives: a pressure of a gas, else a density already. */
function pocketDensity({ law }: FlowModel, density: number): number {
  return law.phase === 'gas' ? law.density(density, law.temperature) : density;
}

/** What each pocket starts with: the pressure (packed and liquid: density) of the chamber upstream of it along the stack. */
function pocketPressures(model: FlowModel): Float64Array {
  const { network, vessels, law, start } = model;
  const state = new Float64Array(network.chambers + network.doors);
  start.forEach((m, chamber) => {
    const { volume, temperature } = vessels[chamber]!;
    const density = law.phase === 'liquid' && m > 0 ? law.referenceDensity : volume > 0 ? m / volume : 0;
    state[chamber] = law.phase === 'gas' ? law.pressure(density, temperature) : density;
  });
  // Links run downstream, so a pocket behind another takes over what that one took from the chamber before both.
  for (const link of network.links) if (link.b >= network.chambers) state[link.b] = state[link.a]!;
  return state;
}
