// The phone's own time, always with its offset from UTC.

const two = (number) => String(number).padStart(2, "0");

/** The civil day at the coach, as in 2026-05-04. */
export function localDay(at = new Date()) {
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
}

/** The moment with its offset, as in 2026-05-04T09:30:00-04:00. */
export function localInstant(at = new Date()) {
  const ahead = -at.getTimezoneOffset();
  const offset = `${ahead < 0 ? "-" : "+"}${two(Math.floor(Math.abs(ahead) / 60))}:${two(Math.abs(ahead) % 60)}`;
  return `${localDay(at)}T${two(at.getHours())}:${two(at.getMinutes())}:${two(at.getSeconds())}${offset}`;
}

/** A day or a moment as people read it, in the language of the page. */
export const shownDay = (day) =>
  new Date(`${day}T12:00`).toLocaleDateString(document.documentElement.lang, { weekday: "short", day: "numeric", month: "short", year: "numeric" });

export const shownTime = (at) =>
  new Date(at).toLocaleString(document.documentElement.lang, { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });

export function hoursBetween(earlier, later = new Date()) {
  return (later - new Date(earlier)) / 3_600_000;
}
