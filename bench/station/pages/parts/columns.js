// The form of a table's columns: each change shows at once what comes of it. What is typed meanwhile stays.
"use strict";
for (const form of document.querySelectorAll("form[data-again]")) {
  const said = () => new URLSearchParams(new FormData(form)).toString();

  async function ask() {
    const asked = said();
    const answer = await fetch(form.dataset.again, { method: "POST", body: new URLSearchParams(asked) }).catch(() => null);
    if (!answer || !answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
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
