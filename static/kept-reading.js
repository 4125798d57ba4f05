// What was typed as a reading is kept in the browser until it is stored, so that a lost network, a
// server that is away at the press or an ended access loses nothing. It is offered, never put in by
// itself, it never leaves this browser, and after a day it is gone. Without scripts nothing is kept.
"use strict";

(function keptReading() {
  const LONGEST_MS = 24 * 3600 * 1000;
  const form = document.querySelector("form.note");
  if (!form) return;
  const key = `fadeline-reading:${form.getAttribute("action")}`;
  const { sayKept, sayBack, sayForget, offsetMin } = form.dataset;
  const loaded = Date.now();
  const inputs = () => [...form.querySelectorAll("input[id]")];

  // A browser may forbid storage, or have none left: typing goes on as without scripts.
  function attempt(action) {
    try {
      return action();
    } catch {
      return null;
    }
  }

  function keep() {
    const filled = inputs().filter((input) => input.value.trim());
    const values = Object.fromEntries(filled.map((input) => [input.name, input.value.trim()]));
    attempt(() => {
      if (filled.length) localStorage.setItem(key, JSON.stringify({ at: Date.now(), values }));
      else localStorage.removeItem(key);
    });
  }

  function forget() {
    attempt(() => localStorage.removeItem(key));
  }

  function button(words, action) {
    const made = document.createElement("button");
    Object.assign(made, { type: "button", className: "quiet", textContent: words });
    made.addEventListener("click", action);
    return made;
  }

  // A time of day on the clock of the test, whatever zone and clock this device has.
  function clockOf(at) {
    const ahead = Date.parse(document.querySelector("[data-run]").dataset.now) - loaded;
    return new Date(at + ahead + Number(offsetMin) * 60000).toISOString().slice(11, 19);
  }

  function offer(kept) {
    const place = document.createElement("div");
    const words = document.createElement("p");
    const buttons = document.createElement("p");
    const shown = inputs().filter((input) => kept.values[input.name]);
    const typed = shown.map((input) => `${input.labels[0].textContent.trim()} ${kept.values[input.name]}`);
    place.className = "card kept";
    place.setAttribute("role", "status");
    buttons.className = "actions";
    words.textContent = sayKept.replace("{when}", clockOf(kept.at).slice(0, 5)).replace("{values}", typed.join(", "));
    const back = button(sayBack, () => {
      // It was read when it was typed, not now.
      for (const [name, value] of Object.entries({ clock: clockOf(kept.at), ...kept.values })) {
        const input = form.elements[name];
        if (!input) continue;
        input.value = value;
        const fold = input.closest("details");
        if (fold) fold.open = true;
      }
      place.remove();
      shown[0].focus();
    });
    const away = button(sayForget, () => {
      forget();
      place.remove();
    });
    buttons.append(back, away);
    place.append(words, buttons);
    form.before(place);
  }

  // A reading that was stored is answered by a redirect from its page; a refused one by the page as
  // it was typed. Whoever joins again comes by a redirect, too, but from the page of a code.
  const [way] = performance.getEntriesByType("navigation");
  const here = document.referrer.startsWith(location.origin + location.pathname);
  const joined = document.referrer.includes("/join/");
  const redirected = way && way.redirectCount === 1 && here && !joined;
  const stored = redirected && attempt(() => sessionStorage.getItem(key));
  attempt(() => sessionStorage.removeItem(key));
  if (stored) forget();
  const kept = attempt(() => JSON.parse(localStorage.getItem(key)));
  const empty = inputs().every((input) => !input.value);
  if (kept && kept.values && kept.at > Date.now() - LONGEST_MS && empty) offer(kept);
  else if (kept && empty) forget();
  form.addEventListener("input", keep);
  document.addEventListener("submit", ({ target }) => {
    attempt(() => (target === form ? sessionStorage.setItem(key, "sent") : sessionStorage.removeItem(key)));
  });
})();
