// Who this phone belongs to. The token itself is a cookie that no script can read.

import { asJson, call } from "./api.js";
import { get, put } from "./store.js";
import { tell } from "./news.js";

export const account = () => get("meta", "account");

/** Pair with a one-time code from the office; throws NoAnswer or Refused. */
export async function pair(code, deviceName) {
  const typed = code.toUpperCase().replace(/[^A-Z0-9]/g, "");
  const { data } = await call("POST", "pair", asJson({ code: typed, device_name: deviceName }));
  await put("meta", { device: data.device, technician: data.technician, zone: data.office_zone }, "account");
  // Browsers may say no; nothing here relies on a yes.
  await navigator.storage?.persist?.().catch(() => false);
  tell("account");
}
