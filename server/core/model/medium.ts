/** The medium of a rig: a built-in one, one of the file or of an imported file, or its own, with overrides. */
import type { MediumStatement } from '../../../grammar/src/ast';
import { type At, declare, type FileMedium, place, recordUse, report, type Scope } from './context';
import { itemOf } from './items';
import { type BuiltInMedium, builtInMedium, MEDIA } from './media';
import { suggest } from './near-match';
import type { Source } from './problem';
import { bagOf, propertyOf, quantity, word } from './properties';
import type { Medium, Phase, Quantity } from './rig';
import { say } from '../words/say';

const PHASES: readonly Phase[] = ['gas', 'liquid', 'packed'];

function fromBuiltIn(medium: BuiltInMedium, scope: Scope, statement: MediumStatement): Medium {
  const item = itemOf(scope, statement.name, statement);
  const known = (value: number | null): Quantity | null =>
    value === null ? null : { nominal: value, min: value, max: value, at: item.at };
  return {
    ...item,
    phase: medium.phase,
    molarMass: known(medium.molarMass),
    heatRatio: known(medium.heatRatio),
    temperature: known(medium.temperature),
    // Of a liquid by its equations at whatever temperature there is.
    density: null,
    bulkModulus: null,
    vapourPressure: null,
    builtIn: medium.name,
    law: 'ideal',
    process: 'isothermal',
    exponent: null,
    criticalTemperature: known(medium.criticalTemperature),
    criticalPressure: known(medium.criticalPressure),
    acentricFactor: known(medium.acentricFactor),
    dataSource: medium.source,
  };
}

function unstated(scope: Scope, statement: MediumStatement, phase: Phase): Medium {
  return {
    ...itemOf(scope, statement.name, statement),
    phase,
    molarMass: null,
    heatRatio: null,
    temperature: null,
    density: null,
    bulkModulus: null,
    law: 'ideal',
    process: 'isothermal',
    exponent: null,
    criticalTemperature: null,
    criticalPressure: null,
    acentricFactor: null,
    vapourPressure: null,
    builtIn: null,
    dataSource: '',
  };
}

/** The medium of this name in the files that can be seen from here. */
export function fileMedium(scope: Scope, name: string): FileMedium | null {
  for (let at: Scope | null = scope; at !== null; at = at.parent) {
    for (const file of [at, ...at.imports]) {
      const found = file.media.get(name);
      if (found !== undefined) return found;
    }
  }
  return null;
}

function* knownMedia(scope: Scope): Generator<string> {
  for (let at: Scope | null = scope; at !== null; at = at.parent) {
    for (const file of [at, ...at.imports]) yield* file.media.keys();
  }
  for (const medium of MEDIA) yield medium.name;
}

/** Values that make a medium another substance than the built-in one. */
const OWN_EQUATION = ['molar_mass', 'critical_temperature', 'critical_pressure', 'acentric_factor'] as const;

function overridden(here: At, statement: MediumStatement, base: Medium): Medium {
  const bag = bagOf(here, 'medium', statement.properties);
  return {
    ...base,
    ...itemOf(here.scope, statement.name, statement),
    molarMass: quantity(bag, 'molar_mass') ?? base.molarMass,
    heatRatio: quantity(bag, 'heat_ratio') ?? base.heatRatio,
    temperature: quantity(bag, 'temperature') ?? base.temperature,
    density: quantity(bag, 'density') ?? base.density,
    bulkModulus: quantity(bag, 'bulk_modulus') ?? base.bulkModulus,
    law: word(bag, 'law', ['ideal', 'real']) ?? base.law,
    process: word(bag, 'process', ['isothermal', 'adiabatic', 'polytropic']) ?? base.process,
    exponent: quantity(bag, 'exponent') ?? base.exponent,
    criticalTemperature: quantity(bag, 'critical_temperature') ?? base.criticalTemperature,
    criticalPressure: quantity(bag, 'critical_pressure') ?? base.criticalPressure,
    acentricFactor: quantity(bag, 'acentric_factor') ?? base.acentricFactor,
    vapourPressure: quantity(bag, 'vapour_pressure') ?? base.vapourPressure,
    builtIn: OWN_EQUATION.some((keyword) => propertyOf(bag, keyword) !== undefined) ? null : base.builtIn,
  };
}

function reportUnknown(here: At, statement: MediumStatement, at: Source): null {
  const { ctx, scope } = here;
  const name = statement.name.text;
  if (statement.properties.length > 0) {
    const fixes = PHASES.map((phase) => ({
      title: say`Add ${phase}`,
      edits: [{ at: { ...at, start: at.end }, text: ` ${phase}` }],
    }));
    report(ctx, 'value/missing', say`The medium ${name} must say what it is: gas, liquid or packed.`, at, { fixes });
    return null;
  }
  const { question, fixes } = suggest(name, knownMedia(scope), at);
  report(ctx, 'name/unknown', say`No medium is called ${name}.${question}`, at, { fixes });
  return null;
}

/** Reads a medium statement of a file or a rig; `own` is set for one of the file itself, which may not refer to itself. */
export function resolveMedium(here: At, statement: MediumStatement, own = false): Medium | null {
  const { ctx, scope } = here;
  const name = statement.name.text;
  if (name === '') return null;
  const at = place(scope, statement.name.span);
  const phase = PHASES.find((p) => p === statement.phase?.text) ?? null;
  const file = own ? null : fileMedium(scope, name);
  if (file !== null && phase === null) recordUse(here, file.declaration, statement.name.span, 'read');
  else if (!own) declare(here, 'medium', statement.name, statement);
  const base =
    file !== null
      ? resolveMedium({ ctx, scope: file.scope }, file.statement, true)
      : builtInBase(scope, statement, phase);
  if (file !== null && base === null) return null;
  if (base === null && phase === null) {
    bagOf(here, 'medium', statement.properties);
    return reportUnknown(here, statement, at);
  }
  const same = base !== null && (phase === null || base.phase === phase) ? base : unstated(scope, statement, phase!);
  return overridden(here, statement, same);
}

function builtInBase(scope: Scope, statement: MediumStatement, phase: Phase | null): Medium | null {
  const medium = builtInMedium(statement.name.text);
  if (medium === null || (phase !== null && phase !== medium.phase)) return null;
  return fromBuiltIn(medium, scope, statement);
}
