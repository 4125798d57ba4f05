// A phone that scanned a code joins the test without a further tap, as soon as somebody sees the
// page: what only looks ahead at an address does not use the code up. Without scripts one presses.
"use strict";

(function arriving() {
  const form = document.querySelector("[data-arrival]");
  if (!form) return;
  let sent = false;

  function join() {
    if (sent || document.visibilityState !== "visible") return;
    sent = true;
    form.submit();
  }

  document.addEventListener("visibilitychange", join);
  join();
})();
