// The running test: a countdown to the next reading, a notice when it is due, and the page brought
// up to date when another device notes something. Without scripts a reload does the same.
"use strict";

(function runningTest() {
  const place = document.querySelector("[data-run]");
  if (!place || place.dataset.running !== "yes") return;
  const due = Date.parse(place.dataset.due);
  // The server's clock counts, not the one of this device.
  const ahead = Date.parse(place.dataset.now) - Date.now();
  const countdown = document.querySelector("[data-countdown]");
  const notify = document.querySelector("[data-notify]");
  const spoken = document.querySelector("[data-told]");
  const { sayDue, sayLeft, sayNow } = place.dataset;
  let told = false;
  let sound = null;

  function tell() {
    if (told) return;
    told = true;
    spoken.textContent = sayDue;
    if (window.Notification && Notification.permission === "granted") {
      new Notification("Fadeline", { body: sayDue });
    }
    if (sound) {
      const tone = sound.createOscillator();
      tone.connect(sound.destination);
      tone.start();
      tone.stop(sound.currentTime + 0.6);
    }
  }

  function tick() {
    const left = Math.round((due - Date.now() - ahead) / 1000);
    if (countdown) {
      const minutes = Math.floor(Math.abs(left) / 60);
      const seconds = String(Math.abs(left) % 60).padStart(2, "0");
      countdown.textContent = left > 0 ? sayLeft.replace("{time}", `${minutes}:${seconds}`) : sayNow;
    }
    if (left <= 0) tell();
  }

  if (notify && (window.AudioContext || window.Notification)) {
    notify.hidden = false;
    notify.addEventListener("click", () => {
      if (window.AudioContext) sound = new AudioContext();
      if (window.Notification) Notification.requestPermission();
      notify.hidden = true;
    });
  }

  // Nothing that someone is about to do may vanish under their fingers.
  function busy() {
    const typed = [...document.querySelectorAll("input:not([readonly], [type=hidden])")].some(
      (input) => input.value !== input.defaultValue || (input.closest("form.note") && input.value),
    );
    const chosen = [...document.querySelectorAll("select, input:checked")].some((choice) => choice.value);
    // The word of a feed is shown once: asking for that page again would make another one.
    const once = document.querySelector("[data-once]");
    return once || typed || chosen || document.querySelector("details[open]:not([data-stays])");
  }

  // A code stays in sight until it was scanned or has ended, whatever else is noted meanwhile. Its
  // page answered a form: it is left, not asked for again.
  function isOld(report, code) {
    if (report.state !== "running") return true;
    if (!code) return report.readings !== Number(place.dataset.readings);
    const ended = Date.now() + ahead > Date.parse(code.dataset.ends);
    return ended || report.phones !== Number(code.dataset.phones);
  }

  async function look() {
    if (busy()) return;
    try {
      const answer = await fetch(place.dataset.run);
      const code = document.querySelector("[data-joining]");
      // Whoever is no longer let in is told so.
      const old = answer.status === 403 || (answer.ok && isOld(await answer.json(), code));
      // Someone may have begun while the answer was on its way.
      if (!old || busy()) return;
      if (code) location.assign(code.dataset.joining);
      else location.reload();
    } catch {
      // The server is away for a moment; the next look will find it.
    }
  }

  // A page that brought itself up to date says what is new: a screen reader hears changes only.
  if (performance.getEntriesByType("navigation")[0]?.type === "reload") {
    setTimeout(() => {
      spoken.textContent = `${spoken.textContent} ${document.querySelector(".headline").textContent}.`.trim();
    }, 500);
  }

  tick();
  setInterval(tick, 1000);
  setInterval(look, 15000);
  // A phone that slept looks as soon as it is awake.
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && look());
})();
