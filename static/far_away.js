// Hands the file to send to the device's own list of ways to send. Browsers offer that only over
// https and on this machine, and not all of them for files; elsewhere the file is saved instead.
"use strict";

(function sendFiles() {
  const probe = new File(["x"], "x.html", { type: "text/html" });
  if (!navigator.canShare || !navigator.canShare({ files: [probe] })) return;

  async function fetched(address) {
    const answer = await fetch(address);
    if (!answer.ok) throw new Error(String(answer.status));
    const named = /filename="([^"]+)"/.exec(answer.headers.get("content-disposition") || "");
    const made = await answer.blob();
    return new File([made], named ? named[1] : "battery.html", { type: "text/html" });
  }

  for (const button of document.querySelectorAll("[data-send]")) {
    const place = button.closest("section");
    const told = place.querySelector("[role=status]");
    let file = null;
    button.hidden = false;
    // With two buttons, the one that sends is the main one.
    place.querySelector("a.button").classList.add("quiet");
    button.addEventListener("click", async () => {
      told.textContent = "";
      try {
        file = file || (await fetched(button.dataset.send));
        await navigator.share({ files: [file] });
      } catch (error) {
        // Closed by whoever pressed: nothing to tell.
        if (error.name === "AbortError") return;
        // Making the file took longer than a press counts for; it is kept for the next one.
        const late = error.name === "NotAllowedError" && file;
        told.textContent = late ? told.dataset.again : told.dataset.failed;
      }
    });
  }
})();
