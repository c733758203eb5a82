// Files dropped on a page, or chosen: each is put where the place says, then the next page is opened.
"use strict";
for (const place of document.querySelectorAll("[data-drop]")) {
  const said = place.querySelector("output");
  async function take(files) {
    const query = new URLSearchParams();
    for (const file of files) {
      said.textContent = `Taking ${file.name} …`;
      const answer = await fetch(place.dataset.drop + encodeURIComponent(file.name), { method: "PUT", body: file })
        .catch(() => null);
      if (!answer || !answer.ok) {
        said.textContent = `${file.name}: ${answer ? await answer.text() : "the station does not answer"}`;
        return;
      }
      query.append("table", file.name);
    }
    if (files.length > 0) location.assign(`${place.dataset.then}?${query}`);
  }
  place.addEventListener("dragover", (event) => { event.preventDefault(); place.classList.add("over"); });
  place.addEventListener("dragleave", () => place.classList.remove("over"));
  place.addEventListener("drop", (event) => {
    event.preventDefault();
    place.classList.remove("over");
    take(event.dataTransfer.files);
  });
  place.querySelector("input").addEventListener("change", (event) => take(event.target.files));
}
