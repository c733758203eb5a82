// Files or folders dropped on a page, or chosen: each is put where the place says, then the next page is opened. The
// answer is the name under which it is kept. {new} in an address is another name each time: what is dropped twice does
// not mix.
"use strict";
const longest = 6000; // characters of an address: the station takes 8 KiB with all that comes with it
const hasFiles = (event) => event.dataTransfer.types.includes("Files");
for (const place of document.querySelectorAll("[data-drop]")) {
  const said = place.querySelector("output");

  // A file manager's own files (.DS_Store, say) are none of a person's.
  const isHidden = ({ name }) => name.startsWith(".");

  function another() {
    return [...crypto.getRandomValues(new Uint8Array(8))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  async function inside(entry) {
    if (isHidden(entry)) return [];
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

  async function take(all) {
    const files = [...all].filter((file) => !isHidden(file)), kept = another();
    const to = place.dataset.drop.replace("{new}", kept), query = new URLSearchParams();
    for (const file of files) {
      said.textContent = `Taking ${file.name} …`;
      const answer = await fetch(to + encodeURIComponent(file.name), { method: "PUT", body: file }).catch(() => null);
      if (!answer || !answer.ok) {
        said.textContent = `${file.name}: ${await why(answer)}`;
        return;
      }
      query.append("table", await answer.text());
    }
    if (files.length === 0) return;
    const then = place.dataset.then;
    const isWhole = then.includes("{new}") || then.includes("?");
    const where = isWhole ? then.replace("{new}", kept) : `${then}?${query}`;
    if (where.length > longest) said.textContent = `${files.length} files are kept, more than one page can work on at once: use the command line.`;
    else location.assign(where);
  }

  const target = "whole" in place.dataset ? document.documentElement : place; // the page is for nothing else
  target.addEventListener("dragover", (event) => {
    if (!hasFiles(event)) return;
    event.preventDefault();
    place.classList.add("over");
  });
  target.addEventListener("dragleave", () => place.classList.remove("over"));
  target.addEventListener("drop", async (event) => {
    if (!hasFiles(event)) return;
    event.preventDefault();
    place.classList.remove("over");
    const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry?.()).filter((entry) => entry);
    const files = event.dataTransfer.files;
    take(entries.length > 0 ? (await Promise.all(entries.map(inside))).flat() : files);
  });
  place.querySelector("input").addEventListener("change", (event) => take(event.target.files));
}
