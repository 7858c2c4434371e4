/**
 * From a medium of a rig to the law it follows, or to the one sentence why there is none. Of several laws that could serve, the most exact
 * that the statements allow is taken: a published equation for a built-in real gas, the cubic one where only critical data are known, the
 * ideal gas where the text says so or nothing. Its title names which, wherever a figure is printed.
 */
import type { Medium } from '../../model/rig';
import { GAS_CONSTANT } from './constants';
import { GAS_EQUATIONS } from './gas-equations';
import { idealErrorOf } from './ideal-error';
import { idealGas } from './ideal-gas';
import { constantLiquid, waterLiquid } from './liquid';
import { processExponent, ROOM_TEMPERATURE, type Law } from './law';
import type { CriticalData } from './peng-robinson';
import { realGas } from './peng-robinson';
import { referenceGas } from './reference-gas';
import { say } from '../../words/say';

/** Printed wherever the law is named: how far the cubic equation is off (docs of `peng-robinson.ts`). */
const CUBIC = (): string => say`real gas (Peng-Robinson, up to 5 % off above 100 bar)`;

/** The law, or a sentence that says what is missing or impossible. */
export function lawOf(medium: Medium): Law | string {
  if (medium.phase === 'packed') {
    return {
      phase: 'packed',
      name: medium.name,
      title: say`packed, mass by volume`,
      temperature: temperatureOf(medium),
    };
  }
  return medium.phase === 'liquid' ? liquidLaw(medium) : gasLaw(medium);
}

const temperatureOf = (medium: Medium): number => medium.temperature?.nominal ?? ROOM_TEMPERATURE;

/** Built-in water by its equation unless the text states a property; any other liquid by two constants, both of which it needs. */
function liquidLaw(medium: Medium): Law | string {
  const temperature = temperatureOf(medium);
  const known = medium.builtIn === 'water' ? waterLiquid(medium.name, temperature) : null;
  if (typeof known === 'string') return known;
  // Once the text states a property of its own, all of them are constants, its own first: a mixture of both would fit neither.
  if (known !== null && !medium.density && !medium.bulkModulus && !medium.vapourPressure) return known;
  const density = medium.density?.nominal ?? known?.referenceDensity;
  const modulus = medium.bulkModulus?.nominal ?? known?.bulkModulus;
  if (density === undefined) return say`liquid \`${medium.name}\` needs a density`;
  if (!(density > 0)) return say`the density of \`${medium.name}\` must be above zero`;
  if (modulus === undefined) return say`liquid \`${medium.name}\` needs a bulk_modulus`;
  if (!(modulus > 0)) return say`the bulk modulus of \`${medium.name}\` must be above zero`;
  return constantLiquid({
    name: medium.name,
    density,
    bulkModulus: modulus,
    temperature,
    vapourPressure: medium.vapourPressure?.nominal ?? known?.vapourPressure ?? null,
  });
}

/** Checks what every gas needs before the choice of the law: molar mass, heat ratio, temperature, exponent. */
function gasLaw(medium: Medium): Law | string {
  const name = medium.name;
  const molarMass = medium.molarMass?.nominal;
  const heatRatio = medium.heatRatio?.nominal ?? 1.4;
  const temperature = temperatureOf(medium);
  const exponent = processExponent(medium);
  if (molarMass === undefined) return say`gas \`${name}\` needs a molar_mass`;
  if (!(molarMass > 0)) return say`the molar mass of \`${name}\` must be above zero`;
  if (!(heatRatio > 1)) return say`the heat ratio of \`${name}\` must be above 1`;
  if (!(temperature > 0)) return say`the temperature of \`${name}\` must be above absolute zero`;
  if (medium.process === 'polytropic' && !medium.exponent) return say`the polytropic gas \`${name}\` needs an exponent`;
  if (!(exponent >= 1)) return say`the exponent of \`${name}\` must be 1 or more`;
  const critical = criticalData(medium);
  const equation = medium.builtIn === null ? undefined : GAS_EQUATIONS.get(medium.builtIn);
  if (medium.law === 'real' && equation !== undefined) {
    const title = say`real gas (${equation.short}), ${medium.process}`;
    const polytropic = medium.process === 'polytropic' && exponent > 1;
    return referenceGas({ name, title, equation, heatRatio, temperature, exponent, polytropic });
  }
  const title = `${medium.law === 'real' ? CUBIC() : say`ideal gas`}, ${medium.process}`;
  if (medium.law === 'real') {
    if (!critical)
      return say`gas \`${name}\` with \`law real\` needs critical_temperature, critical_pressure and acentric_factor`;
    return realGas({ ...critical, name, title, molarMass, heatRatio, temperature, exponent });
  }
  const gasConstant = GAS_CONSTANT / molarMass;
  return idealGas({
    name,
    title,
    gasConstant,
    heatRatio,
    temperature,
    exponent,
    error: idealErrorOf(molarMass, equation, critical),
  });
}

/** Critical data where all three are stated and possible; a part of them serves no purpose. */
function criticalData(medium: Medium): CriticalData | null {
  const criticalTemperature = medium.criticalTemperature?.nominal;
  const criticalPressure = medium.criticalPressure?.nominal;
  const acentricFactor = medium.acentricFactor?.nominal;
  if (criticalTemperature === undefined || criticalPressure === undefined || acentricFactor === undefined) return null;
  if (!(criticalTemperature > 0) || !(criticalPressure > 0)) return null;
  return { criticalTemperature, criticalPressure, acentricFactor };
}
