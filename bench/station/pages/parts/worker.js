// One line to the station for all pages of this browser; each page is told everything.
"use strict";
const pages = new Map(); // port: when it was heard last, by no clock that anybody sets
const last = new Map();  // of what lasts, for a page that comes later

function tell(name, data) {
  const now = performance.now();
  for (const [port, heard] of pages) {
    if (now - heard > 600000) pages.delete(port);
    else port.postMessage({ name, data });
  }
}

let source = null;
function listen() {
  source = new EventSource("/events");
  for (const name of ["bar", "live", "beat", "ended", "ping"])
    source.addEventListener(name, (event) => {
      if (name === "bar" || name === "live") last.set(name, event.data);
      tell(name, event.data);
    });
  source.onerror = () => tell("lost", "");
}

onconnect = ({ ports: [port] }) => {
  port.onmessage = () => pages.set(port, performance.now());
  pages.set(port, performance.now());
  if (!source || source.readyState === 2) listen();
  for (const [name, data] of last) port.postMessage({ name, data });
};
