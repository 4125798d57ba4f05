// What was typed into the table of readings is kept in this browser until it is stored, so that a
// closed tab or an empty battery loses nothing. It is offered, never put in by itself, it never
// leaves this browser, and after seven days it is gone. Without scripts nothing is kept.
"use strict";

(function keptReadings() {
  const PREFIX = "fadeline-typed:";
  const STORING = "fadeline-storing";
  const LONGEST_MS = 7 * 24 * 3600 * 1000;
  const MOST = 3;

  // A browser may forbid storage, or have none left: typing goes on as without scripts.
  function attempt(action) {
    try {
      return action();
    } catch {
      return null;
    }
  }

  function read(key) {
    const kept = attempt(() => JSON.parse(localStorage.getItem(key)));
    return Array.isArray(kept) ? kept.filter((one) => one.at > Date.now() - LONGEST_MS) : [];
  }

  function write(key, kept) {
    attempt(() => {
      if (kept.length) localStorage.setItem(key, JSON.stringify(kept));
      else localStorage.removeItem(key);
    });
  }

  function forgetOld() {
    attempt(() => {
      for (const key of Object.keys(localStorage)) {
        if (key.startsWith(PREFIX)) write(key, read(key));
      }
    });
  }

  // A store is answered by a redirect to the test; a refused one by the form, a failed one by none.
  function forgetStored() {
    const key = attempt(() => sessionStorage.getItem(STORING));
    attempt(() => sessionStorage.removeItem(STORING));
    const [way] = performance.getEntriesByType("navigation");
    if (key && document.querySelector("[data-stored-test]") && way && way.redirectCount === 1) {
      write(key, []);
    }
  }

  forgetOld();
  forgetStored();
  const table = document.querySelector("[data-kept]");
  if (!table) return;
  const { degrees, sayKept, sayKeptOne, sayBack, sayBackOne, sayForget } = table.dataset;
  const form = table.closest("form");
  const key = PREFIX + form.getAttribute("action");
  const offers = document.createElement("div");

  const inputs = () => [...table.querySelectorAll("tbody tr:not(.said)")].map((row) => [...row.querySelectorAll("input")]);
  const filled = (rows) => rows.filter((row) => row.some(Boolean));
  const same = (one, other) => JSON.stringify(filled(one)) === JSON.stringify(filled(other));
  // A row of which only the time was filled in by request holds nothing that was typed.
  const requested = () => (form.elements.filled_times?.value || "").split(" ");
  const bare = ([time, ...rest]) => requested().includes(time) && !rest.some(Boolean);
  const shown = () =>
    inputs().map((row) => {
      const texts = row.map((input) => input.value.trim());
      return bare(texts) ? texts.map(() => "") : texts;
    });

  // A page that shows again what was typed goes on with the same draft.
  const known = read(key).find((one) => same(one.rows, shown()));
  const own = known ? known.id : `${Date.now()}-${Math.random()}`;
  const served = shown();

  function keep() {
    const rows = shown();
    const others = read(key).filter((one) => one.id !== own);
    const worth = filled(rows).length && (known || !same(rows, served));
    const kept = worth ? [{ id: own, at: Date.now(), rows, degrees }, ...others] : others;
    write(key, kept.slice(0, MOST));
  }

  // A temperature that was typed in another unit than the table's now says its own.
  const TEMPERATURE = 3;

  function cell(draft, text, column) {
    const typedIn = draft.degrees || "°C";
    const bare = column === TEMPERATURE && typedIn !== degrees && /^[-+−]?[\d.,]+$/.test(text);
    return bare ? `${text} ${typedIn}` : text;
  }

  function bringBack(draft) {
    table.dispatchEvent(new CustomEvent("rowswanted", { detail: draft.rows.length }));
    inputs().forEach((row, down) => {
      row.forEach((input, right) => {
        input.value = cell(draft, draft.rows[down]?.[right] ?? "", right);
      });
    });
    table.dispatchEvent(new Event("broughtback"));
    keep();
  }

  function button(words, action) {
    const made = document.createElement("button");
    Object.assign(made, { type: "button", className: "quiet", textContent: words });
    made.addEventListener("click", action);
    return made;
  }

  function offer(draft) {
    const count = filled(draft.rows).length;
    const style = { day: "numeric", month: "short", year: "numeric", hour: "2-digit", minute: "2-digit" };
    const language = document.documentElement.lang;
    const when = new Date(draft.at).toLocaleString(language === "en" ? "en-GB" : language, style);
    const said = (one, many) => (count === 1 ? one : many).replace("{count}", count).replace("{when}", when);
    const place = document.createElement("div");
    const words = document.createElement("p");
    const buttons = document.createElement("p");
    const close = () => {
      write(key, read(key).filter((one) => one.id !== draft.id));
      place.remove();
      inputs()[0][0].focus();
    };
    place.className = "card kept";
    words.textContent = said(sayKeptOne, sayKept);
    buttons.className = "actions";
    const back = button(said(sayBackOne, sayBack), () => {
      // What stands in the table meanwhile is offered in its turn.
      const replaced = shown();
      const worth = filled(replaced).length && !same(replaced, served);
      bringBack(draft);
      close();
      if (worth) {
        const instead = { id: `${Date.now()}-${Math.random()}`, at: Date.now(), rows: replaced, degrees };
        write(key, [...read(key), instead].slice(0, MOST));
        offer(instead);
      }
    });
    buttons.append(back, button(sayForget, close));
    place.append(words, buttons);
    offers.append(place);
  }

  offers.setAttribute("role", "status");
  (table.closest(".scroll") || table).before(offers);
  read(key).filter((one) => one.id !== own).forEach(offer);
  table.addEventListener("input", keep);
  form.addEventListener("submit", (event) => {
    const storing = event.submitter && event.submitter.value === "store";
    attempt(() => (storing ? sessionStorage.setItem(STORING, key) : sessionStorage.removeItem(STORING)));
  });
})();
