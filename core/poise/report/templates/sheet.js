"use strict";
(function () {
  const tools = document.getElementById("tools"), list = document.getElementById("shots");
  const text = document.getElementById("text"), state = document.getElementById("state");
  const faulty = document.getElementById("faulty"), sort = document.getElementById("sort");
  const down = document.getElementById("down"), told = document.getElementById("told");
  const shots = Array.from(list.children);
  const words = new Map(shots.map(shot => [shot, shot.textContent.toLowerCase()]));
  const compare = new Intl.Collator("en", { numeric: true }).compare;

  function filter() {
    const wanted = text.value.trim().toLowerCase().split(/\s+/).filter(Boolean);
    let count = 0;
    for (const shot of shots) {
      const shown = wanted.every(word => words.get(shot).includes(word))
        && (!state.value || shot.dataset.state === state.value)
        && (!faulty.checked || Number(shot.dataset.faults) > 0);
      shot.hidden = !shown;
      count += shown;
    }
    told.textContent = count === shots.length ? "" : count + " of " + shots.length + " shots";
  }

  // what has no such value goes last, whichever way round; equals stay in reel order
  function order() {
    const key = sort.value, way = down.checked ? -1 : 1, named = key === "name";
    const place = shot => Number(shot.dataset.place);
    const sorted = shots.slice().sort((one, other) => {
      const a = one.dataset[key], b = other.dataset[key];
      if (a === undefined || b === undefined) {
        return (a === undefined) - (b === undefined) || place(one) - place(other);
      }
      return way * (named ? compare(a, b) : Number(a) - Number(b)) || place(one) - place(other);
    });
    list.append(...sorted);
  }

  tools.addEventListener("submit", event => event.preventDefault());
  text.addEventListener("input", filter);
  state.addEventListener("change", filter);
  faulty.addEventListener("change", filter);
  sort.addEventListener("change", order);
  down.addEventListener("change", order);
  // a browser may keep what was chosen before a reload
  filter();
  order();
  tools.hidden = false;
})();
