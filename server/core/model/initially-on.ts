/** Whether a sensor is on at the start, as the stated contents of its chamber say. */
import type { Chamber, Rig, Sensed, Sensor } from './rig';

/** The starting value of what is sensed, in SI, where the chamber states it or it follows without a law of state. */
function startingValue(chamber: Chamber, sensed: Sensed): number | null {
  const { pressure, density, mass, volume, level } = chamber;
  switch (sensed) {
    case 'pressure':
      return pressure?.nominal ?? null;
    case 'level':
      return level?.nominal ?? null;
    case 'density':
      if (density !== null) return density.nominal;
      return mass !== null && volume !== null ? mass.nominal / volume.nominal : null;
    case 'mass':
      if (mass !== null) return mass.nominal;
      return density !== null && volume !== null ? density.nominal * volume.nominal : null;
  }
}

/**
 * True or false where the chamber states the quantity that the sensor watches (or density and mass give each other through the
 * volume), null where it does not: then the flow side has to compute it. Between the two values of a hysteresis a sensor
 * starts off, since nothing has brought it on yet. Exactly at the value it is off: it comes on *above* (or below).
 */
export function initiallyOn(rig: Pick<Rig, 'chambers'>, sensor: Pick<Sensor, 'chamber' | 'on'>): boolean | null {
  const chamber = rig.chambers[sensor.chamber];
  if (chamber === undefined || sensor.on === null) return null;
  const value = startingValue(chamber, sensor.on.sensed);
  if (value === null) return null;
  const limit = sensor.on.value.nominal;
  return sensor.on.side === 'above' ? value > limit : value < limit;
}
