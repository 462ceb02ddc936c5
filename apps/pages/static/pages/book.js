"use strict";
/* The little that every page does by itself: show again what was sent, and keep pages for when
   there is no signal. */

(() => {
  const OLD_MS = 90000;

  /* The same page as the book has it now; folded-out parts stay folded out. */
  async function showAgain() {
    let fresh;
    try {
      const response = await fetch(location.href, { headers: { Accept: "text/html", "X-Fresh": "1" } });
      if (!response.ok || response.redirected) return;
      fresh = new DOMParser().parseFromString(await response.text(), "text/html");
    } catch {
      return;
    }
    const open = [...document.querySelectorAll("details[id][open]")].map((part) => part.id);
    const held = document.activeElement?.closest("[id]:not(main, body)")?.id;
    for (const id of ["said", "main"]) {
      const part = fresh.getElementById(id);
      if (part) document.getElementById(id).replaceWith(document.adoptNode(part));
    }
    htmx.process(document.getElementById("said"));
    htmx.process(document.getElementById("main"));
    afloat();
    for (const id of open) document.getElementById(id)?.setAttribute("open", "");
    const back = held && document.getElementById(held);
    if (back) back.focus({ preventScroll: true });
    await queue.mark();
    document.dispatchEvent(new CustomEvent("book:shown"));
  }

  /* What was just said stays in sight of someone far down the page, until it is closed. */
  function afloat() {
    const said = document.getElementById("said");
    if (!said.firstElementChild || window.scrollY < 80) return;
    const close = document.createElement("button");
    close.type = "button";
    close.textContent = "Close";
    close.addEventListener("click", () => said.classList.remove("afloat"));
    said.lastElementChild.append(close);
    said.classList.add("afloat");
  }

  /* What somebody is typing is not swept away. */
  const isTyping = () =>
    [...document.querySelectorAll("main form:not([data-sent]) :is(input:not([type=hidden]), textarea)")]
      .some((field) => field.checkVisibility() && field.value !== field.defaultValue);

  document.addEventListener("queue:sent", () => { if (!isTyping()) showAgain(); });

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!form.matches("[data-sign-out]") || form.dataset.sure) return;
    const left = await queue.size();
    form.dataset.sure = "yes";
    if (!left) { form.requestSubmit(); return; }
    const said = document.querySelector(".waiting-count");
    said.textContent = `${said.textContent} They stay on this phone until you sign in again. `
      + "To sign out all the same, press the button once more.";
    said.scrollIntoView({ block: "center" });
  });
  document.addEventListener("submit", (event) => {
    if (event.target.matches("[data-sign-out]:not([data-sure])")) event.preventDefault();
  }, true);

  document.addEventListener("DOMContentLoaded", () => {
    const seen = document.querySelector("[data-shown-at]");
    const age = seen ? Date.now() - Date.parse(seen.dataset.shownAt) : 0;
    if (seen && age > OLD_MS) {
      /* What was said then may have been undone since. */
      document.getElementById("said").replaceChildren();
      seen.hidden = false;
    }
    if ("serviceWorker" in navigator && document.body.dataset.user) {
      navigator.serviceWorker.register("/sw.js");
    }
  });
})();
