/** Sensors on the chambers they are mounted on: values at the start, changes with hysteresis, and the masses at which they change. */
import type { FlowModel } from '../flow/rig-model';
import type { Contents } from '../flow/contents';
import { massAt, reading } from '../flow/vessel';
import type { Rig, Sensor, Threshold } from '../model/rig';

/** Whether a reading satisfies a threshold; exactly at it does not. */
export const beyond = (threshold: Threshold, value: number): boolean =>
  threshold.side === 'above' ? value > threshold.value.nominal : value < threshold.value.nominal;

/** The reading of a sensor's chamber; null where there is none. */
export function sensed(model: FlowModel, sensor: Sensor, threshold: Threshold, contents: Contents): number | null {
  const vessel = model.vessels[sensor.chamber];
  if (!vessel) return null;
  const k = sensor.chamber;
  return reading(model.law, vessel, threshold.sensed, contents.mass[k]!, contents.temperature[k]!);
}

/**
 * Value of a sensor given what it was, by what the quantity of a threshold reads (null: nothing). It goes on beyond its `on` threshold and
 * off beyond the one at which it clears; without one it goes off as soon as it is no longer beyond the first.
 */
export function sensorBy(sensor: Sensor, was: boolean, read: (threshold: Threshold) => number | null): boolean {
  if (!sensor.on) return was;
  const value = read(sensor.on);
  if (value === null) return was;
  const { clears } = sensor;
  if (!was || !clears) return beyond(sensor.on, value);
  const cleared = read(clears);
  return cleared === null || !beyond(clears, cleared);
}

/** The same by the contents of its chamber. */
export const sensorValue = (model: FlowModel, sensor: Sensor, was: boolean, contents: Contents): boolean =>
  sensorBy(sensor, was, (threshold) => sensed(model, sensor, threshold, contents));

/** Sensor values that the starting contents give. */
export function startSensors(rig: Rig, model: FlowModel): boolean[] {
  const contents: Contents = {
    mass: Float64Array.from(model.start),
    temperature: Float64Array.from(model.vessels, (v) => v.temperature),
  };
  return rig.sensors.map((sensor) => sensorValue(model, sensor, false, contents));
}

/** Mass of its chamber at which a sensor would change from what it is, kg; null where it has no such mass. */
export function changeMass(model: FlowModel, sensor: Sensor, was: boolean, temperature: number): number | null {
  const threshold = was ? (sensor.clears ?? sensor.on) : sensor.on;
  const vessel = model.vessels[sensor.chamber];
  return threshold && vessel ? massAt(model.law, vessel, threshold.sensed, threshold.value.nominal, temperature) : null;
}
