// Weather at the roof: dew point, surface margin, and whether a coat may go on.
//
// Magnus over water, WMO-No. 8 (Sonntag 1990). The 3 °C margin is guidance for steel
// (ISO 8502-4), borrowed here. The coat's data sheet comes first.

const B = 17.62;
const C = 243.12;
const MARGIN_C = 3;
const TOLERANCE_C = 1e-6;

/** Dew point [°C] for -45 to 60 °C and a humidity above 0 and up to 100 %. */
export function dewPointC(airC, rhPct) {
  if (!(airC >= -45 && airC <= 60) || !(rhPct > 0 && rhPct <= 100)) return NaN;
  const g = Math.log(rhPct / 100) + (B * airC) / (C + airC);
  return Math.min((C * g) / (B - g), airC);
}

/** The limits that count: the coat's own, else the system's, else the usual margin. */
export function weatherLimits(coat, system) {
  const pick = (name) => {
    const value = coat?.limits?.[name] ?? system?.limits?.[name] ?? null;
    return value === null ? null : Number(value);
  };
  const rh = pick("rh_max_ratio");
  return {
    airMinC: pick("air_min_c"),
    airMaxC: pick("air_max_c"),
    rhMaxPct: rh === null ? null : rh * 100,
    dewMarginC: pick("dew_margin_c") ?? MARGIN_C,
  };
}

/**
 * Judge one set of readings. UNKNOWN while one is missing or out of all range, MET
 * within every limit, else NOT_MET with the codes of the limits it leaves.
 */
export function judgeClimate({ airC, surfaceC, rhPct }, limits) {
  const dewC = dewPointC(airC ?? NaN, rhPct ?? NaN);
  const marginC = (surfaceC ?? NaN) - dewC;
  const isRoof = surfaceC >= -60 && surfaceC <= 120;
  if (Number.isNaN(marginC) || !isRoof) return { verdict: "UNKNOWN", dewC, marginC: NaN, faults: [] };
  const faults = [];
  if (limits.airMinC !== null && airC < limits.airMinC - TOLERANCE_C) faults.push("air-low");
  if (limits.airMaxC !== null && airC > limits.airMaxC + TOLERANCE_C) faults.push("air-high");
  if (limits.rhMaxPct !== null && rhPct > limits.rhMaxPct + TOLERANCE_C) faults.push("rh-high");
  if (marginC < limits.dewMarginC - TOLERANCE_C) faults.push("dew-near");
  return { verdict: faults.length ? "NOT_MET" : "MET", dewC, marginC, faults };
}

/** Heat [°F, NWS SR 90-23 regression], for the caution on a hot roof; else null. */
export function heatIndexF(airF, rhPct) {
  if (!(airF >= 80 && rhPct >= 40 && rhPct <= 100)) return null;
  const t = airF;
  const r = rhPct;
  return (
    -42.379 + 2.04901523 * t + 10.14333127 * r - 0.22475541 * t * r - 6.83783e-3 * t * t -
    5.481717e-2 * r * r + 1.22874e-3 * t * t * r + 8.5282e-4 * t * r * r - 1.99e-6 * t * t * r * r
  );
}
