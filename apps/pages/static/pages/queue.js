"use strict";
/* What is done without a signal waits on the phone, and is sent once when the signal returns.

   Every form with `data-queue` goes this way, signal or not: it is written down first, then
   sent with an Idempotency-Key, and crossed off only when the book has answered. What the book
   refuses stays here with both values until the person drops it. */

const queue = (() => {
  const STORE = "waiting";
  const AGAIN_MS = 15000;
  let sending = false;
  let more = false; /* something came while others were being sent */
  let again = 0;

  const user = () => document.body.dataset.user || "";
  const clock = (at) => new Date(at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const cookie = (name) =>
    document.cookie.split("; ").find((row) => row.startsWith(`${name}=`))?.slice(name.length + 1) || "";

  /* A plain address without a certificate has no crypto.randomUUID. */
  const newKey = () =>
    Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");

  function store(mode, act) {
    return new Promise((resolve, reject) => {
      const opening = indexedDB.open("lifted-boards", 1);
      opening.onupgradeneeded = () =>
        opening.result.createObjectStore(STORE, { keyPath: "id", autoIncrement: true });
      opening.onerror = () => reject(opening.error);
      opening.onsuccess = () => {
        const book = opening.result;
        const going = book.transaction(STORE, mode);
        const asked = act(going.objectStore(STORE));
        going.oncomplete = () => { book.close(); resolve(asked.result); };
        going.onerror = () => { book.close(); reject(going.error); };
      };
    });
  }
  const all = async () =>
    (await store("readonly", (rows) => rows.getAll())).filter((row) => row.user === user());
  const keep = (row) => store("readwrite", (rows) => rows.put(row));
  const drop = (id) => store("readwrite", (rows) => rows.delete(id));

  /* What the person filled in, as they would say it. */
  function values(form) {
    const said = [];
    for (const field of form.elements) {
      const name = field.labels?.[0]?.textContent.trim();
      if (!name || field.type === "hidden" || !field.value) continue;
      if ((field.type === "checkbox" || field.type === "radio") && !field.checked) continue;
      const value = field.type === "file" ? field.files[0].name
        : field.tagName === "SELECT" ? field.selectedOptions[0].textContent.trim() : field.value;
      said.push([name, value]);
    }
    return said;
  }

  async function take(form, submitter) {
    const data = new FormData(form, submitter);
    data.delete("csrfmiddlewaretoken");
    const at = new Date().toISOString();
    if (!data.get("at")) data.set("at", at);
    const fields = [...data.entries()].filter(([, value]) => !(value instanceof File) || value.size);
    const row = {
      key: newKey(), user: user(), address: form.getAttribute("action"), fields, at,
      label: submitter?.dataset.queue || form.dataset.queue, said: values(form), state: "waits",
      card: form.closest("[data-card]")?.id || "", then: form.dataset.then || "",
    };
    try {
      row.id = await keep(row);
    } catch {
      form.submit(); /* No store on this phone: as without any script. */
      return;
    }
    mark(row);
    /* An Undo of something earlier must not be taken for this one's. */
    document.getElementById("said").replaceChildren();
    await send(form, row.id);
    if (form.isConnected && !form.querySelector(".field-error")) form.reset();
  }

  /* The card as it will be once the book knows. */
  function mark(row) {
    const card = row.card && document.getElementById(row.card);
    if (!card || row.state !== "waits") return;
    if (row.then) {
      card.dataset.state = row.then;
      for (const part of card.querySelectorAll("[data-when]")) {
        part.hidden = !part.dataset.when.split(" ").includes(row.then);
      }
    }
    const note = document.createElement("p");
    note.className = "waits";
    note.textContent = `${said(row)}, ${clock(row.at)}: not sent yet.`;
    card.append(note);
  }

  const said = (row) => [row.label, ...row.said.slice(0, 1).map(([, value]) => value)].join(": ");

  async function send(form, ownId) {
    if (sending) { more = true; return; }
    sending = true;
    more = false;
    let sent = 0;
    try {
      for (const row of await all()) {
        if (row.state !== "waits") continue;
        const answer = await post(row);
        if (answer === "later") break;
        if (answer === "sent") {
          sent += 1;
          await drop(row.id);
          if (row.id === ownId) form?.reset();
          continue;
        }
        if (row.id === ownId && form?.isConnected && blame(form, answer)) {
          await drop(row.id);
          continue;
        }
        await keep({ ...row, state: "refused", answer });
      }
    } finally {
      sending = false;
    }
    if (more) { await send(); return; }
    await show();
    if (sent) document.dispatchEvent(new CustomEvent("queue:sent"));
  }

  async function post(row) {
    const body = new FormData();
    for (const [name, value] of row.fields) body.append(name, value);
    let response;
    try {
      response = await fetch(row.address, {
        method: "POST", body, redirect: "manual",
        headers: { "Idempotency-Key": row.key, "X-From-Queue": "1", "X-CSRFToken": cookie("csrftoken") },
      });
    } catch {
      return "later";
    }
    const kind = response.headers.get("Content-Type") || "";
    if (response.ok && kind.startsWith("application/json")) return "sent";
    if (!kind.startsWith("application/problem+json")) return "later";
    const answer = await response.json();
    const passing = [401, 503].includes(answer.status) || answer.type.endsWith("#key-in-work");
    return passing ? "later" : answer;
  }

  /* Sentences beside the fields they are about. False when none of them is on the form.
     Of radio buttons with one name the group is to blame. */
  function blame(form, answer) {
    form.querySelectorAll(".field-error").forEach((old) => old.remove());
    form.querySelectorAll("[aria-invalid]").forEach((old) => old.removeAttribute("aria-invalid"));
    let first = null;
    for (const error of answer.errors || []) {
      const name = error.pointer.split("/")[1];
      const fields = name ? [...form.elements].filter((one) => one.name === name && one.type !== "hidden") : [];
      const [field] = fields;
      if (!field) continue;
      const said = document.createElement("p");
      said.className = "field-error";
      said.id = `${field.id || name}-error`;
      said.textContent = error.detail;
      for (const one of fields) {
        if (one.type !== "radio") one.setAttribute("aria-invalid", "true");
        const hints = (one.getAttribute("aria-describedby") || "").split(" ").filter((id) => id && !id.endsWith("-error"));
        one.setAttribute("aria-describedby", [...hints, said.id].join(" "));
      }
      if (["radio", "checkbox"].includes(field.type)) (field.closest("fieldset, .field") || field.parentElement).append(said);
      else field.after(said);
      first = first || field;
    }
    first?.focus();
    return first !== null;
  }

  async function show() {
    const place = document.getElementById("waiting");
    if (!place) return [];
    const rows = await all();
    const waits = rows.filter((row) => row.state === "waits").length;
    const refused = rows.length - waits;
    place.hidden = rows.length === 0;
    place.querySelector(".waiting-count").textContent = [
      waits && `${waits} ${waits === 1 ? "thing waits" : "things wait"} for signal.`,
      refused && `${refused} ${refused === 1 ? "was" : "were"} not written: look below.`,
    ].filter(Boolean).join(" ");
    place.querySelector("ul").replaceChildren(...rows.map(line));
    const strip = document.getElementById("waiting-strip");
    if (strip) {
      strip.hidden = rows.length === 0;
      strip.textContent = refused ? `${refused} not written: look` : `${waits} ${waits === 1 ? "waits" : "wait"} for signal`;
    }
    clearTimeout(again);
    again = waits ? setTimeout(retry, AGAIN_MS) : 0;
    return rows;
  }

  function line(row) {
    const item = document.createElement("li");
    const title = document.createElement("p");
    title.textContent = `${said(row)}, ${clock(row.at)}`;
    item.append(title);
    if (row.state === "refused") {
      title.append(": not written.");
      const why = document.createElement("p");
      why.textContent = row.answer.detail;
      item.append(why, both(row));
    }
    const buttons = document.createElement("div");
    buttons.className = "row";
    if (row.state === "refused") buttons.append(button("Send again", () => resend(row)));
    buttons.append(button(row.state === "refused" ? "Drop mine" : "Take back", () => takeBack(row)));
    item.append(buttons);
    return item;
  }

  /* What the person wrote, and what the book has. */
  function both(row) {
    const list = document.createElement("dl");
    list.className = "both";
    const add = (name, value) => {
      const [dt, dd] = [document.createElement("dt"), document.createElement("dd")];
      [dt.textContent, dd.textContent] = [name, value];
      list.append(dt, dd);
    };
    add("Yours", [row.label, ...row.said.map(([name, value]) => `${name}: ${value}`)].join("; "));
    const current = row.answer.current;
    if (current) {
      add("In the book", typeof current === "string" ? current
        : Object.entries(current).map(([name, value]) => `${name.replaceAll("_", " ")}: ${value}`).join("; "));
    }
    return list;
  }

  function button(words, act) {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = words;
    made.addEventListener("click", act);
    return made;
  }

  async function resend(row) {
    /* What it was opened at no longer counts: the person has seen both values. */
    const fields = row.fields.filter(([name]) => name !== "version");
    await keep({ ...row, fields, key: newKey(), state: "waits", answer: null });
    await send();
  }

  async function takeBack(row) {
    await drop(row.id);
    await show();
    document.dispatchEvent(new CustomEvent("queue:sent"));
  }

  async function retry() {
    again = 0;
    if ((await all()).some((row) => row.state === "waits")) await send();
  }

  /* Before htmx and the browser: a form is never sent in two ways. */
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("form[data-queue]") || !user()) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    if (event.submitter?.disabled) return;
    /* Read first: a button that is off gives no value, and which one was pressed may be the point. */
    const taken = take(form, event.submitter);
    for (const pressed of form.querySelectorAll("button")) pressed.disabled = true;
    taken.finally(() => {
      for (const pressed of form.querySelectorAll("button")) pressed.disabled = false;
    });
  }, true);

  const begin = async () => {
    if (!user()) return;
    (await show()).forEach(mark);
    await retry();
  };
  window.addEventListener("online", retry);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) retry(); });
  document.addEventListener("DOMContentLoaded", begin);

  return { mark: async () => (await all()).forEach(mark), size: async () => (await all()).length };
})();
