// The form of a table's columns: each change shows at once what comes of it. What is typed meanwhile stays,
// and a button stays where it is while it is pressed: to leave a field by a click on it is a change, too.
"use strict";
let pressed = null, release = () => {}; // a promise while a button is pressed, and what keeps it
document.addEventListener("pointerdown", ({ target }) => {
  if (target.closest?.("button")) pressed ??= new Promise((done) => { release = done; });
});
for (const end of ["pointerup", "pointercancel"]) {
  document.addEventListener(end, () => { pressed = null; setTimeout(release); }); // the click comes first
}
for (const form of document.querySelectorAll("form[data-again]")) {
  const said = () => new URLSearchParams(new FormData(form)).toString();

  const comes = document.getElementById("comes");
  let asking = 0;

  async function ask() {
    asking++;
    comes.ariaBusy = "true";
    await take(said()).finally(() => { if (--asking === 0) comes.ariaBusy = "false"; });
  }

  async function take(asked) {
    const answer = await fetch(form.dataset.again, { method: "POST", body: new URLSearchParams(asked) }).catch(() => null);
    if (!answer || !answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    await pressed;
    if (said() !== asked) return;
    const at = document.activeElement?.id;
    for (const id of ["columns", "comes"]) {
      const fresh = page.getElementById(id), place = document.getElementById(id);
      if (fresh && place && fresh.innerHTML !== place.innerHTML) place.innerHTML = fresh.innerHTML;
    }
    if (at) document.getElementById(at)?.focus();
  }

  form.addEventListener("change", ask);
}
