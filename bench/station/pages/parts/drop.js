// Files or folders dropped on a page, or chosen: each is put where the place says, then the next page is opened. The
// answer is the name under which it is kept.
"use strict";
for (const place of document.querySelectorAll("[data-drop]")) {
  const said = place.querySelector("output");

  async function inside(entry) {
    if (entry.isFile) return [await new Promise((done, failed) => entry.file(done, failed))];
    const reader = entry.createReader(), found = [];
    for (;;) {
      const some = await new Promise((done, failed) => reader.readEntries(done, failed));
      if (some.length === 0) return found;
      for (const one of some) found.push(...await inside(one));
    }
  }

  async function why(answer) {
    if (!answer) return "the station does not answer";
    if (answer.status === 413) return "this is more than is taken from a page: copy it into the station's folder";
    return answer.headers.get("content-type").startsWith("text/plain") ? answer.text() : `refused (${answer.status})`;
  }

  async function take(files) {
    const query = new URLSearchParams();
    for (const file of files) {
      said.textContent = `Taking ${file.name} …`;
      const answer = await fetch(place.dataset.drop + encodeURIComponent(file.name), { method: "PUT", body: file })
        .catch(() => null);
      if (!answer || !answer.ok) {
        said.textContent = `${file.name}: ${await why(answer)}`;
        return;
      }
      query.append("table", await answer.text());
    }
    if (files.length > 0) location.assign(files.length > 50 ? place.dataset.then : `${place.dataset.then}?${query}`);
  }

  place.addEventListener("dragover", (event) => { event.preventDefault(); place.classList.add("over"); });
  place.addEventListener("dragleave", () => place.classList.remove("over"));
  place.addEventListener("drop", async (event) => {
    event.preventDefault();
    place.classList.remove("over");
    const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry?.()).filter((entry) => entry);
    const files = event.dataTransfer.files;
    take(entries.length > 0 ? (await Promise.all(entries.map(inside))).flat() : files);
  });
  place.querySelector("input").addEventListener("change", (event) => take(event.target.files));
}
