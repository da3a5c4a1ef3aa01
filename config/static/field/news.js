// Tells every view, and every other tab, that something on this phone has changed.

const here = new EventTarget();
const tabs = new BroadcastChannel("roof-register-field");

tabs.onmessage = ({ data }) => here.dispatchEvent(new CustomEvent(data));

export function tell(what) {
  here.dispatchEvent(new CustomEvent(what));
  tabs.postMessage(what);
}

/** Draw this tab's view again; `anew` from its top, as after a form was kept. */
export const redraw = () => here.dispatchEvent(new CustomEvent("redraw"));
export const anew = () => here.dispatchEvent(new CustomEvent("anew"));

/** Listen until the returned function is called. */
export function listen(what, heard) {
  here.addEventListener(what, heard);
  return () => here.removeEventListener(what, heard);
}
