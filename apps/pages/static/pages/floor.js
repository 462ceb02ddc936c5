"use strict";
/* The drawing of a floor under a thumb, a mouse or the keyboard. What is picked is what is ticked
   in the list of boards: this script only ticks, shows and moves the view, and writes nothing. */

(() => {
  const NEAR_MM_PER_PX = 10;      // closer than this a board's mark can be read
  const CLOSEST_MM_PER_PX = 1.5;
  const STEP = 1.6;
  const TAP_PX = 8;

  function setUp() {
    const form = document.querySelector("[data-floor]:not([data-ready])");
    if (!form) return;
    form.dataset.ready = "yes";
    const view = form.querySelector("[data-view]");
    const svg = view.querySelector("svg");
    const tools = [...form.querySelectorAll("[data-tools]")];
    const card = form.querySelector("#floor-card");
    const heard = form.querySelector("[data-heard]");
    const count = form.querySelector("[data-count]");
    const tapped = form.querySelector("[data-tapped]");
    const toNone = form.querySelector("[data-do=none]");
    const pickMode = form.querySelector("[data-do=pick]");
    const shapes = new Map([...svg.querySelectorAll("[data-board]")].map((shape) => [shape.dataset.board, shape]));
    const boxes = new Map([...form.querySelectorAll("input[name=board]")].map((box) => [box.value, box]));
    const [, , wide, tall] = svg.getAttribute("viewBox").split(" ").map(Number);
    const fingers = new Map();
    let middle = { x: wide / 2, y: tall / 2 };
    let mm = 1;          // mm of the house to a pixel of the screen
    let whole = 1;
    let begun = null;
    let cursor = null;

    for (const tool of tools) tool.hidden = false;
    const place = document.querySelector(".floor-places [aria-current]");
    if (place) place.parentElement.scrollLeft = place.offsetLeft - place.parentElement.offsetLeft - 8;
    view.tabIndex = 0;
    view.setAttribute("role", "group");
    view.setAttribute("aria-label", "Drawing, by keyboard or by thumb");
    view.setAttribute("aria-describedby", "floor-keys");

    /* ---- What is seen ---- */

    function size() {
      const box = view.getBoundingClientRect();
      return { x: box.left, y: box.top, width: view.clientWidth || 1, height: view.clientHeight || 1 };
    }

    function look(x, y, scale) {
      const { width, height } = size();
      whole = Math.max(wide / width, tall / height);
      mm = Math.min(whole, Math.max(CLOSEST_MM_PER_PX, scale));
      const within = (at, seen, all) => (seen >= all ? all / 2 : Math.min(all - seen / 2, Math.max(seen / 2, at)));
      middle = { x: within(x, width * mm, wide), y: within(y, height * mm, tall) };
      svg.setAttribute("viewBox", [middle.x - width * mm / 2, middle.y - height * mm / 2, width * mm, height * mm].join(" "));
      svg.classList.toggle("near", mm <= NEAR_MM_PER_PX);
      svg.classList.toggle("far", mm > NEAR_MM_PER_PX);
      view.classList.toggle("closer", mm < whole);
    }

    function spot(event) {
      const { x, y, width, height } = size();
      return {
        x: middle.x + (event.clientX - x - width / 2) * mm,
        y: middle.y + (event.clientY - y - height / 2) * mm,
      };
    }

    /* Closer or further, with one spot of the house staying where it is on the screen. */
    function zoom(factor, about = middle) {
      const scale = Math.min(whole, Math.max(CLOSEST_MM_PER_PX, mm / factor));
      look(about.x + (middle.x - about.x) * scale / mm, about.y + (middle.y - about.y) * scale / mm, scale);
    }

    /* ---- What is picked ---- */

    const label = (id) => boxes.get(id)?.labels[0].textContent.trim()
      || form.querySelector(`tbody [data-board="${id}"]`)?.textContent.trim() || "";
    const state = (id) => form.querySelector(`[data-state="${id}"]`)?.textContent.trim() || "";
    const picked = () => [...boxes].filter(([, box]) => box.checked).map(([id]) => id);

    function pick(id, on) {
      const box = boxes.get(id);
      if (!box || box.checked === on) return;
      box.checked = on;
      show();
    }

    function show() {
      const ids = picked();
      for (const [id, shape] of shapes) {
        const on = Boolean(boxes.get(id)?.checked);
        // On top of its neighbours, or their edges hide its own.
        if (on && !shape.classList.contains("picked")) shape.parentNode.append(shape);
        shape.classList.toggle("picked", on);
      }
      if (!count) return;
      const marks = ids.map(label);
      count.textContent = ids.length === 0 ? "No board is picked. Tap one, or tick it in the list."
        : `${ids.length} picked: ${marks.slice(0, 6).join(", ")}${marks.length > 6 ? " and more" : ""}`;
      toNone.hidden = ids.length === 0;
      // Not under a thumb that still drags: the bar would come up over the boards.
      if (!begun?.moved) count.closest("[data-picked]").classList.toggle("some", ids.length > 0);
      if (!ids.length) tapped.hidden = true;
      for (const button of form.querySelectorAll("button[name=to_state]")) {
        button.disabled = ids.length === 0;
        button.dataset.word = button.dataset.word || button.dataset.queue;
        button.dataset.queue = `${button.dataset.word} ${marks.join(", ")}`;
      }
    }

    async function open(id) {
      const row = form.querySelector(`[data-state="${id}"]`)?.closest("tr");
      const link = row?.querySelector("a");
      if (!link) return;
      inShort(id);
      card.hidden = false;
      card.textContent = `${label(id)} is ${state(id)}.`;
      try {
        const answer = await fetch(link.href, { headers: { Accept: "text/html" } });
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        const found = page.getElementById("board-card");
        if (answer.ok && found) card.replaceChildren(document.adoptNode(found));
      } catch {
        card.textContent += " Its card needs a signal.";
      }
    }

    function tell(id) {
      const told = [label(id), state(id), boxes.get(id)?.checked ? "picked" : ""].filter(Boolean);
      heard.textContent = `${told.join(", ")}.`;
    }

    /* ---- Thumb and mouse ---- */

    const under = (event) =>
      document.elementFromPoint(event.clientX, event.clientY)?.closest?.("[data-view] [data-board]")?.dataset.board;
    const picking = () => pickMode?.getAttribute("aria-pressed") === "true";
    const apart = () => {
      const [a, b] = [...fingers.values()];
      return { far: Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY) || 1,
               at: { clientX: (a.clientX + b.clientX) / 2, clientY: (a.clientY + b.clientY) / 2 } };
    };

    view.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      fingers.set(event.pointerId, event);
      if (fingers.size === 1) {
        begun = { x: event.clientX, y: event.clientY, moved: false, id: under(event), from: { ...middle } };
        begun.on = begun.id ? !boxes.get(begun.id)?.checked : true;
      } else if (fingers.size === 2) {
        const { far, at } = apart();
        begun = { pinch: true, far, mm, about: spot(at) };
      }
    });

    view.addEventListener("pointermove", (event) => {
      if (!fingers.has(event.pointerId) || !begun) return;
      fingers.set(event.pointerId, event);
      if (begun.pinch) {
        if (fingers.size < 2) return;
        const { far, at } = apart();
        const scale = Math.min(whole, Math.max(CLOSEST_MM_PER_PX, begun.mm * begun.far / far));
        const { x, y, width, height } = size();
        look(begun.about.x - (at.clientX - x - width / 2) * scale, begun.about.y - (at.clientY - y - height / 2) * scale, scale);
        return;
      }
      const gone = Math.hypot(event.clientX - begun.x, event.clientY - begun.y);
      if (!begun.moved && gone < TAP_PX) return;
      if (!begun.moved) {
        begun.moved = true;
        view.setPointerCapture(event.pointerId);
        if (picking() && begun.id) pick(begun.id, begun.on);
      }
      if (picking()) {
        // A quick thumb jumps over boards: look at every few pixels of its way.
        const from = begun.last || begun;
        const steps = Math.ceil(Math.hypot(event.clientX - from.x, event.clientY - from.y) / 4);
        for (let step = 1; step <= steps; step += 1) {
          const id = under({ clientX: from.x + (event.clientX - from.x) * step / steps,
                             clientY: from.y + (event.clientY - from.y) * step / steps });
          if (id) pick(id, begun.on);
        }
        begun.last = { x: event.clientX, y: event.clientY };
      } else {
        look(begun.from.x - (event.clientX - begun.x) * mm, begun.from.y - (event.clientY - begun.y) * mm, mm);
      }
    });

    function end(event) {
      const tapped = begun && !begun.pinch && !begun.moved && event.type === "pointerup";
      fingers.delete(event.pointerId);
      if (tapped) tap(event);
      // The finger that is left of two neither drags nor taps.
      fingers.clear();
      begun = null;
      show();
    }
    for (const name of ["pointerup", "pointercancel"]) view.addEventListener(name, end);

    function tap(event) {
      if (event.pointerType === "touch" && mm > NEAR_MM_PER_PX) {
        // A board is thinner than a thumb from here: go closer first.
        const at = spot(event);
        look(at.x, at.y, NEAR_MM_PER_PX * 0.7);
        heard.textContent = "Closer. Tap a board.";
        return;
      }
      const id = under(event);
      if (!id) return;
      setCursor(id);
      pick(id, !boxes.get(id)?.checked);
      tell(id);
      open(id);
    }

    /* In one line what its card tells: the card itself is further down. */
    function inShort(id) {
      const held = form.querySelector(`[data-held="${id}"]`)?.textContent.trim();
      const link = document.createElement("a");
      link.className = "inline";
      link.href = "#floor-card";
      link.textContent = "Card ↓";
      tapped.hidden = false;
      tapped.replaceChildren(`${label(id)} is ${state(id)}. ${held ? `Held for ${held}.` : "Nobody holds it."} `, link);
    }

    view.addEventListener("wheel", (event) => {
      if (!event.ctrlKey) return;
      event.preventDefault();
      zoom(Math.exp(-event.deltaY / 150), spot(event));
    }, { passive: false });

    /* ---- Keyboard ---- */

    const centre = (id) => {
      const box = shapes.get(id).getBBox();
      return { x: box.x + box.width / 2, y: box.y + box.height / 2, box };
    };

    function setCursor(id) {
      if (cursor) shapes.get(cursor).classList.remove("cursor");
      cursor = id;
      shapes.get(id).parentNode.append(shapes.get(id));
      shapes.get(id).classList.add("cursor");
    }

    /* The nearest board that way; sideways counts double, so that rows are walked along. */
    function next(dx, dy) {
      if (!cursor) return shapes.keys().next().value;
      const here = centre(cursor);
      let best = null;
      for (const id of shapes.keys()) {
        if (id === cursor) continue;
        const there = centre(id);
        const ahead = (there.x - here.x) * dx + (there.y - here.y) * dy;
        const aside = Math.abs((there.x - here.x) * dy) + Math.abs((there.y - here.y) * dx);
        if (ahead > 10 && (!best || ahead + 2 * aside < best.far)) best = { id, far: ahead + 2 * aside };
      }
      return best?.id;
    }

    const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

    view.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const way = WAYS[event.key];
      if (way && event.shiftKey) look(middle.x + way[0] * 60 * mm, middle.y + way[1] * 60 * mm, mm);
      else if (way) {
        const id = next(...way);
        if (id) {
          setCursor(id);
          tell(id);
          const at = centre(id);
          if (mm < whole) look(at.x, at.y, mm);
        }
      } else if (event.key === " " && cursor) { pick(cursor, !boxes.get(cursor)?.checked); tell(cursor); }
      else if (event.key === "Enter" && cursor) open(cursor);
      else if (event.key === "+" || event.key === "=") zoom(STEP, cursor ? centre(cursor) : middle);
      else if (event.key === "-") zoom(1 / STEP);
      else if (event.key === "0") look(0, 0, Infinity);
      else if (event.key === "Escape") letGo();
      else return;
      event.preventDefault();
    });

    /* ---- Buttons, layers, list ---- */

    function letGo() {
      for (const id of picked()) boxes.get(id).checked = false;
      show();
    }

    const ACTS = {
      closer: () => zoom(STEP),
      away: () => zoom(1 / STEP),
      whole: () => look(0, 0, Infinity),
      none: letGo,
      pick: () => {
        const on = !picking();
        pickMode.setAttribute("aria-pressed", String(on));
        view.classList.toggle("picking", on);
      },
    };
    form.addEventListener("click", (event) => {
      const act = ACTS[event.target.closest("[data-do]")?.dataset.do];
      if (act) act();
    });
    form.addEventListener("reset", () => setTimeout(show));
    form.addEventListener("change", (event) => { if (event.target.name === "board") show(); });

    const layers = document.querySelector("[data-layers]");
    if (layers) {
      layers.querySelector("[data-show]").hidden = true;
      layers.addEventListener("change", (event) =>
        svg.classList.toggle(`no-${event.target.value}`, !event.target.checked));
    }

    new ResizeObserver(() => look(middle.x, middle.y, mm === whole ? Infinity : mm)).observe(view);
    look(0, 0, Infinity);
    show();
  }

  document.addEventListener("DOMContentLoaded", setUp);
  document.addEventListener("book:shown", setUp);
})();
