// Opens the browser's own print window; without scripts its menu does the same.
"use strict";

(function printing() {
  for (const button of document.querySelectorAll("[data-print]")) {
    button.hidden = false;
    button.addEventListener("click", () => window.print());
  }
})();
