// Changes the look without leaving the page, so that nothing typed is lost. Without scripts the
// form does it, and the page is asked for again.
"use strict";

(function lookSwitch() {
  const form = document.querySelector("[data-look-switch]");
  if (!form) return;

  function wear(chosen) {
    const root = document.documentElement;
    if (chosen === "auto") delete root.dataset.look;
    else root.dataset.look = chosen;
    for (const button of form.querySelectorAll("button")) {
      button.setAttribute("aria-pressed", String(button.value === chosen));
    }
    const paper = getComputedStyle(root).getPropertyValue("--paper").trim();
    for (const bar of document.querySelectorAll("meta[name=theme-color]")) {
      if (chosen !== "auto" || !bar.media) bar.content = paper;
    }
  }

  form.addEventListener("submit", async (event) => {
    const button = event.submitter;
    if (!button) return;
    event.preventDefault();
    const body = new URLSearchParams(new FormData(form));
    body.append("look", button.value);
    try {
      const answer = await fetch(form.action, { method: "POST", body, redirect: "manual" });
      if (answer.type !== "opaqueredirect") throw new Error("not kept");
      wear(button.value);
    } catch {
      const chosen = Object.assign(document.createElement("input"), { type: "hidden", name: "look", value: button.value });
      form.append(chosen);
      form.submit();
    }
  });
})();
