// Keeps the page itself on the phone, and changes to a newer one only when asked.

import { tell } from "./news.js";

let waiting = null;

export const newerVersion = () => waiting;

export async function keepShell() {
  if (!("serviceWorker" in navigator)) return;
  try {
    const kept = await navigator.serviceWorker.register("/field/sw.js", { scope: "/field/", updateViaCache: "none" });
    notice(kept.waiting);
    kept.addEventListener("updatefound", () => watch(kept.installing));
  } catch (error) {
    // No line, or a browser that keeps nothing: the page works while it is open.
    if (error?.name !== "TypeError" && error?.name !== "SecurityError") throw error;
  }
}

function watch(worker) {
  worker?.addEventListener("statechange", () => {
    if (worker.state === "installed" && navigator.serviceWorker.controller) notice(worker);
  });
}

function notice(worker) {
  if (!worker) return;
  waiting = worker;
  tell("update");
}

/** Change to the newer page: everything captured is in the database already. */
export function useNewer() {
  navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
  waiting?.postMessage("use-now");
}
