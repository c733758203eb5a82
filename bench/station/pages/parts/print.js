"use strict";
for (const one of document.querySelectorAll("[data-print]")) one.addEventListener("click", () => window.print());
