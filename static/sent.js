// A page that answers a form and is not kept for going back to (app/web/security/posted_pages.py)
// stays in the way back as its address alone: whoever goes back to it later gets the page of the
// form, not the refusal of the browser to send it once more.
"use strict";

(function lookedBackAt() {
  addEventListener("pagehide", () => history.replaceState(history.state, "", location.href));
})();
