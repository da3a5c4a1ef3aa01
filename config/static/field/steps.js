// The guided visit: which stages a kind of visit has, in the order one walks or works.
//
// Common practice, no source; data sheets and local codes come first. A stage has
// cautions to read, questions, tools to read with, and perhaps a hold point: it is
// passed by a named person with its needs met, or the next stage waits.

const stage = (code, { cautions = [], checks = [], tools = [], hold = null, needs = [] } = {}) => ({
  code,
  cautions,
  checks: checks.map((check) => `${code}.${check}`),
  tools,
  hold: hold && `hold.${hold}`,
  needs,
});

const ON_TOP = ["fall", "ladder", "deck", "weather"];

const SURVEY = [
  stage("story", { checks: ["stains", "drips", "fitted"] }),
  stage("inside", { checks: ["ceilings", "cabinets", "around"], tools: ["deck", "photos"] }),
  stage("safe", { cautions: [...ON_TOP, "power"], checks: ["walkable", "ladder", "power"], hold: "safe" }),
  stage("whole", { tools: ["photos"], needs: ["photo"], hold: "photos-before" }),
  stage("skin", { checks: ["coated", "silicone", "tears", "loose", "growth"], tools: ["finding"] }),
  stage("probe", { cautions: ["deck", "mould"], checks: ["seams", "corners"], tools: ["deck", "finding"] }),
  stage("seals", { checks: ["covers", "gaskets", "dirt", "rust"], tools: ["seals", "finding", "photos"] }),
  stage("edges", { cautions: ["fall"], checks: ["caps", "gutters", "spouts", "lights"], tools: ["finding"] }),
  stage("patch", { cautions: ["solvent"], checks: ["needed"], tools: ["patch"] }),
  stage("outcome", { checks: ["accept", "repairs", "dry-first", "decline"] }),
];

const INSTALLATION = [
  stage("safe", { cautions: [...ON_TOP, "power", "gas", "heat"], checks: ["power", "gas", "intakes", "ladder", "walkable"], tools: ["climate"], hold: "safe", needs: ["climate"] }),
  stage("strip", { cautions: ["heat-gun", "fall"], checks: ["sealant", "silicone", "no-tears", "covers"], tools: ["seals", "photos"], hold: "bare", needs: ["photo-before-each"] }),
  stage("repair", { cautions: ["deck", "mould"], checks: ["boards", "fasteners", "tears"], tools: ["deck", "finding"], hold: "deck-dry", needs: ["deck-dry"] }),
  stage("wash", { cautions: ["slip", "solvent", "rags", "gas"], checks: ["washed", "rinsed", "wiped", "wipe-clean", "skin-dry"], hold: "dry-and-clean" }),
  stage("mask", { checks: ["walls", "gap"], tools: ["photos"] }),
  stage("prime", { cautions: ["solvent", "gas"], checks: ["stirred", "even", "hard"], tools: ["climate", "coats", "film-primer"], hold: "primed-and-hard", needs: ["climate", "log-primer"] }),
  stage("detail", { cautions: ["fall"], checks: ["fabric", "cables", "caps", "terminations"], tools: ["seals", "photos"], hold: "detailed", needs: ["detailed", "photo-after-each"] }),
  stage("base", { cautions: ["fall", "slip"], checks: ["stirred", "cut-in", "no-holidays"], tools: ["climate", "coats", "film-base", "finding"], hold: "base-coat", needs: ["climate", "log-base", "film-base"] }),
  stage("cure", { cautions: ["weather"], checks: ["covered", "touch-dry", "detail-again"], tools: ["recoat"], hold: "base-cured" }),
  stage("finish", { cautions: ["fall", "slip"], checks: ["other-colour", "cut-in", "laps", "gutters", "tape", "colour-check"], tools: ["climate", "coats", "film-finish", "finding"], hold: "finish-coat", needs: ["climate", "log-finish", "film-finish"] }),
  stage("close", { cautions: ["power", "gas", "rags"], checks: ["covers", "count", "same-places", "walk-round", "care"], tools: ["photos", "coats"] }),
];

const WALK = [
  stage("front", { cautions: ["fall"], checks: ["seam", "lights", "lap"], tools: ["finding", "photos"] }),
  stage("left", { checks: ["rail", "screws", "lap", "spouts"], tools: ["finding", "photos"] }),
  stage("rear", { cautions: ["ladder"], checks: ["seam", "ladder-feet", "lap"], tools: ["finding", "photos"] }),
  stage("right", { checks: ["rail", "screws", "lap", "spouts", "awning"], tools: ["finding", "photos"] }),
  stage("centre", { tools: ["seals", "finding", "photos"], needs: ["seals-walked"] }),
  stage("field", { checks: ["strips", "ponding", "chalk", "growth", "impact"], tools: ["finding", "photos"] }),
  stage("wear", { checks: ["crown", "front-of-ac", "trees", "ladder"], tools: ["film-finish", "finding"] }),
];

const ASK = stage("ask", { checks: ["fitted", "hit", "washed", "inside"] });
const UP = stage("safe", { cautions: ON_TOP, checks: ["walkable", "ladder"], hold: "safe" });
const CLEAN = stage("clean", { cautions: ["slip"], checks: ["washed", "dry"] });

const LEAK_CALL = [
  stage("protect", { cautions: ["leak", "power", "fall", "ladder", "mould"], checks: ["covered", "power-off", "drying"], tools: ["photos"] }),
  stage("heard", { checks: ["noticed", "rain", "driving", "fitted"] }),
  stage("not-roof", { checks: ["windows", "side-seams", "slide-outs", "plumbing", "condensate", "condensation"], tools: ["finding", "photos"] }),
  stage("meter", { checks: ["ceiling", "trusses"], tools: ["deck"] }),
  UP,
  stage("find", { cautions: ["slip", "power"], checks: ["dry-look", "spray", "air"], tools: ["seals", "finding", "photos"] }),
  stage("temporary", { cautions: ["fall"], checks: ["sealed", "photographed"], tools: ["photos"] }),
];

const REPAIR = [
  stage("safe", { cautions: [...ON_TOP, "power", "gas"], checks: ["walkable", "ladder", "power"], tools: ["climate"], hold: "safe", needs: ["climate"] }),
  stage("open", { cautions: ["heat-gun"], checks: ["to-sound", "photographed"], tools: ["photos", "deck"] }),
  stage("dry", { cautions: ["mould"], checks: ["boards", "source"], tools: ["deck"], hold: "deck-dry", needs: ["deck-dry"] }),
  stage("wash", { cautions: ["solvent", "rags", "slip"], checks: ["washed", "wiped", "skin-dry"], hold: "dry-and-clean" }),
  stage("rebuild", { cautions: ["solvent"], checks: ["primed", "detailed", "coated"], tools: ["coats", "film-base", "film-finish"] }),
  stage("retest", { cautions: ["slip"], checks: ["spray", "same-places"], tools: ["photos"] }),
  stage("cured", { tools: ["cures"], needs: ["cures"] }),
];

export const STAGES = {
  SURVEY,
  INSTALLATION,
  INSPECTION: [ASK, UP, CLEAN, ...WALK],
  LEAK_CALL,
  REPAIR,
  REINSTATEMENT: [ASK, UP, CLEAN, ...WALK, stage("again", { checks: ["cured", "since"], tools: ["photos"] })],
};

export const KINDS = Object.keys(STAGES);
export const HAS_RESULT = ["INSPECTION", "REINSTATEMENT"];
export const CAUSES = ["film", "holiday", "wear", "detail", "fastener", "adhesion", "blister", "substrate", "impact", "alteration", "not-roof", "condensation", "unknown"];
export const CONDITIONS = ["intact", "hairline", "open", "lifted", "new-hole"];
