// Copies a line to type. The button appears only where the browser lets a page write to the
// clipboard: on this machine and over https. Elsewhere one press on the line selects it.
"use strict";

(function copyLines() {
  if (!navigator.clipboard) return;
  for (const button of document.querySelectorAll("[data-copy]")) {
    const place = button.parentElement;
    const told = place.querySelector("[role=status]");
    button.hidden = false;
    button.addEventListener("click", async () => {
      const line = place.querySelector("code");
      try {
        await navigator.clipboard.writeText(line.textContent);
        told.textContent = button.dataset.copied;
      } catch {
        // It was not allowed after all: what is selected can be copied by hand.
        getSelection().selectAllChildren(line);
      }
    });
  }
})();
