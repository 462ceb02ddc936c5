"use strict";
/* A button that copies what stands in a field. Without this script the field can still be marked
   and copied by hand, so the button only shows where it works. */

(() => {
  async function copy(field) {
    field.focus();
    field.select();
    /* The clipboard is only there on https and on this machine itself. */
    if (!navigator.clipboard) return document.execCommand("copy");
    try {
      await navigator.clipboard.writeText(field.value);
      return true;
    } catch {
      return document.execCommand("copy");
    }
  }

  document.addEventListener("click", async (event) => {
    const button = event.target.closest("[data-copy]");
    if (!button) return;
    const done = await copy(document.getElementById(button.dataset.copy));
    document.querySelector(".copied").textContent = done
      ? "Copied." : "It is marked: copy it by hand.";
  });

  document.addEventListener("DOMContentLoaded", () => {
    for (const button of document.querySelectorAll("[data-copy]")) button.hidden = false;
  });
})();
