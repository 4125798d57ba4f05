// A form is sent once: a second press, before the page answers, would make a second battery or link.
"use strict";

(function sentOnce() {
  // Whoever stopped the page, or lost the server, can send again after it.
  const MAX_HELD_MS = 15000;
  const held = new Set();

  function release() {
    held.forEach((button) => (button.disabled = false));
    held.clear();
  }

  addEventListener("submit", ({ target, submitter, defaultPrevented }) => {
    // One that is answered by a file leaves the page as it is; a button may only ask.
    if (defaultPrevented || !target.matches("[method=post]:not([data-gives-file])")) return;
    if (submitter && submitter.formMethod === "get") return;
    // Not at once: what was pressed is sent with the form.
    setTimeout(() => {
      for (const one of target.elements) {
        if (one.type !== "submit" || one.disabled) continue;
        one.disabled = true;
        held.add(one);
      }
    });
    setTimeout(release, MAX_HELD_MS);
  });
  // Back from the browser's memory of pages.
  addEventListener("pageshow", release);
})();
