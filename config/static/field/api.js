// Speaks to the office's server: JSON there and back, problems as values.

const ROOT = "/api/field/";
const PATIENCE_MS = 60_000;

/** Nobody answered, or somebody who is not our server. The work stays here. */
export class NoAnswer extends Error {}

/** The server's answer was no: its status and the problem it named. */
export class Refused extends Error {
  constructor(status, problem) {
    super(problem.code ?? problem.type ?? `status ${status}`);
    this.status = status;
    this.problem = problem;
    this.code = codeOf(problem);
  }
}

function codeOf(problem) {
  return problem.code ?? String(problem.type ?? "").split(/[/:#]/).pop() ?? "";
}

/** Return {status, data, etag}; throw NoAnswer or Refused. */
export async function call(method, path, { body, headers = {}, patience = PATIENCE_MS } = {}) {
  const response = await reach(method, path, { body, headers, patience });
  const etag = response.headers.get("ETag");
  if (response.status === 304) return { status: 304, data: null, etag };
  const data = await jsonOf(response);
  if (response.ok) return { status: response.status, data, etag };
  throw new Refused(response.status, data);
}

async function reach(method, path, { body, headers, patience }) {
  try {
    return await fetch(ROOT + path, {
      method,
      body,
      headers: { "X-Field": "1", Accept: "application/json", ...headers },
      cache: "no-store",
      // A sign-in page or a hotel's portal is no answer.
      redirect: "error",
      signal: AbortSignal.timeout(patience),
    });
  } catch (error) {
    throw new NoAnswer(error?.name ?? "no answer");
  }
}

async function jsonOf(response) {
  const type = response.headers.get("Content-Type") ?? "";
  if (!/\bjson\b/.test(type)) throw new NoAnswer(`no JSON, status ${response.status}`);
  try {
    return await response.json();
  } catch {
    throw new NoAnswer("the answer was cut");
  }
}

export const asJson = (value) => ({
  body: JSON.stringify(value),
  headers: { "Content-Type": "application/json" },
});
