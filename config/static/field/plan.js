// The roof plan in metres: x from the front cap, y from the left gutter.

import { SPOTS_PER_AREA } from "./film.js";

const SPOT_ACROSS = [0.25, 0.75, 0.5, 0.25, 0.75];

/**
 * The suggested place of a spot: the roof is cut into as many strips as areas, front to
 * back, and five spots zigzag in each, so that a walk backwards visits them in order.
 */
export function suggestedPlace({ area, spot, areas, lengthM, widthM }) {
  const strip = lengthM / Math.max(areas, area, 1);
  const along = (((spot - 1) % SPOTS_PER_AREA) + 0.5) / SPOTS_PER_AREA;
  return {
    x: round4((area - 1 + along) * strip),
    y: round4(SPOT_ACROSS[(spot - 1) % SPOTS_PER_AREA] * widthM),
  };
}

/** Penetrations as one walks: front cap to rear cap, left before right. */
export function walkingOrder(penetrations) {
  return [...penetrations].sort(
    (a, b) => Number(a.x_m) - Number(b.x_m) || Number(a.y_m) - Number(b.y_m),
  );
}

/** A place on the roof, pulled back to its edge when a finger went over it. */
export function clampPlace({ x, y }, { lengthM, widthM }) {
  return {
    x: round4(Math.min(Math.max(x, 0), lengthM)),
    y: round4(Math.min(Math.max(y, 0), widthM)),
  };
}

export const round4 = (value) => Math.round(value * 1e4) / 1e4;
