// The teeth of a notch gauge: which keys the pad shows.
//
// ASTM D4414-95(2020), procedure A: flat gauges read 3 to 2000 µm (0.5 to 80 mil).

import { MIL_UM } from "./units.js";

const RANGE_UM = [3, 2500];
const STEP = { mil: 2, um: 50 };
const KEYS = 16;

/** Sixteen teeth around a coat's wet target, in the unit of the gauge. */
export function teethAround(targetUm, unit) {
  const step = STEP[unit];
  const target = unit === "mil" ? targetUm / MIL_UM : targetUm;
  const middle = Math.round(target / step);
  const first = Math.max(1, middle - KEYS / 2);
  return Array.from({ length: KEYS }, (_, i) => (first + i) * step).filter((tooth) => isTooth(tooth, unit));
}

export function isTooth(value, unit) {
  const um = unit === "mil" ? value * MIL_UM : value;
  return um >= RANGE_UM[0] && um <= RANGE_UM[1];
}
