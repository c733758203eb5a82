// Of every page: hears what happens, answers the station's beats, halts by one key or one button.
"use strict";
(() => {
  const byId = (id) => document.getElementById(id);
  let number = null; // of the run that is on, as the bar says it
  const silence = 4000; // ms without a word, while a run is on: the station asks twice a second
  let heard = performance.now(), looked = heard;

  const send = (path, fields) => fetch(path, {
    method: "POST", keepalive: true, body: new URLSearchParams(fields), redirect: "manual" });

  function halt() {
    send("/run/halt", {}).catch(lost);
    const button = document.querySelector("#bar .halt");
    if (button) button.firstChild.textContent = "Halting …";
  }

  function lost() { byId("lost").hidden = false; }

  function show(id, html) {
    const place = byId(id);
    if (place && place.innerHTML !== html) place.innerHTML = html;
  }

  const heed = {
    bar: (html) => {
      const halting = document.querySelector("#bar .halt")?.firstChild.textContent.startsWith("Halting");
      show("bar", html);
      const bar = document.querySelector("#bar [data-run]");
      number = bar ? bar.dataset.run : null;
      if (halting && number) document.querySelector("#bar .halt").firstChild.textContent = "Halting …";
    },
    live: (html) => show("live", html),
    // The dead man's rule: the station asks, a page that lives answers.
    beat: (beat) => { if (number) send("/run/here", { run: number, beat }).catch(lost); },
    ended: (where) => { if (byId("live")) location.assign(where); },
    ping: () => {},
  };

  function take(name, data) {
    heard = performance.now();
    byId("lost").hidden = true;
    heed[name]?.(data);
  }

  function listenAlone() {
    const source = new EventSource("/events");
    for (const name of Object.keys(heed)) source.addEventListener(name, (event) => take(name, event.data));
    source.onerror = () => { if (number) lost(); };
  }

  // One line for all pages of this browser: it opens six to one address at most, and the halt needs one.
  function listen() {
    if (!window.SharedWorker) return listenAlone();
    const worker = new SharedWorker("/script/worker.js");
    worker.port.onmessage = ({ data }) => data.name === "lost" ? (number && lost()) : take(data.name, data.data);
    worker.port.postMessage("here");
    setInterval(() => worker.port.postMessage("here"), 5000);
    worker.onerror = listenAlone;
  }

  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !number) return;
    event.preventDefault();
    halt();
  });
  document.addEventListener("pointerdown", (event) => {
    if (event.target.closest?.("[data-halt]")) halt();
  });
  const sent = new WeakMap(); // forms: when
  document.addEventListener("submit", (event) => {
    const form = event.target, before = sent.get(form) ?? -Infinity;
    if (form.querySelector("[data-halt]")) {
      event.preventDefault();
      halt();
      return;
    }
    sent.set(form, performance.now());
    if (performance.now() - before < 2000) event.preventDefault(); // a double click asks once
  });
  // A station that hangs breaks no line. A page that slept itself has heard nothing either.
  setInterval(() => {
    const now = performance.now();
    if (now - looked > silence) heard = now;
    looked = now;
    if (number && now - heard > silence) lost();
  }, 500);
  // A file that is dropped beside the place for it would be opened, and this page left.
  const hasFiles = (event) => event.dataTransfer.types.includes("Files");
  document.addEventListener("dragover", (event) => {
    if (event.defaultPrevented || !hasFiles(event)) return;
    event.preventDefault();
    event.dataTransfer.dropEffect = "none";
  });
  document.addEventListener("drop", (event) => { if (hasFiles(event)) event.preventDefault(); });
  // What reports write as style attributes, which this page's policy does not let in as such.
  for (const one of document.querySelectorAll("[data-style]")) one.style.cssText = one.dataset.style;

  const bar = document.querySelector("#bar [data-run]");
  number = bar ? bar.dataset.run : null;
  listen();
})();
