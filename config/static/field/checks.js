// Answers to questions and hold points: each its own record, a change names the former.

import { uuid7 } from "./ids.js";
import { save } from "./saving.js";

export function answer(place, { visit, state }, step, said, note = "") {
  const former = state.check.get(step) ?? null;
  const body = { uuid: uuid7(), step, answer: said, note, supersedes: former?.uuid ?? null };
  return save(place, visit, "check", body, { drafts: [`note/${visit.uuid}/${step}`] });
}
