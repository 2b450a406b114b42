// While he types, the form is posted and what it changes is put in place; without this the page
// works by its plain forms.
"use strict";
(() => {
  const PAUSE = 250, POLL = 750;  // the whole count begins at the first poll, once typing rests
  const form = document.getElementById("answer");
  const last = {};  // the parts as they were fetched
  let timer = 0, newest = 0, stop = null, gone = false;

  // the parts that change, and nothing that he types into or has unfolded
  const put = (text, polled) => {
    const fresh = new DOMParser().parseFromString(text, "text/html");
    if (fresh.body.dataset.file !== document.body.dataset.file) return location.replace("/");
    for (const old of document.querySelectorAll("[data-live]")) {
      const now = fresh.querySelector(`[data-live="${old.dataset.live}"]`);
      const name = old.dataset.live;
      if (polled && name.startsWith("note-")) continue;  // what is missing stays said until he types
      if (!now || now.innerHTML === (last[name] ?? old.innerHTML)) continue;
      last[name] = now.innerHTML;
      const held = old.contains(document.activeElement) ? document.activeElement : null;
      const open = [...old.querySelectorAll("details")].map((d) => d.open);
      old.innerHTML = now.innerHTML;
      old.querySelectorAll("details").forEach((d, i) => { d.open = open[i] || false; });
      if (held) {
        const again = [...old.querySelectorAll("a, summary, button")]
          .find((e) => e.textContent === held.textContent);
        if (again) again.focus();
      }
    }
    for (const field of document.querySelectorAll("#answer .field")) {
      const now = fresh.getElementById(field.querySelector(".note").id);
      if (now && !polled) field.classList.toggle("bad", !!now.querySelector(".error"));
    }
    document.title = fresh.title;
    light();
    move(document.getElementById("feed-handle"));
    wait();
  };

  const ask = async (where, how) => {
    const mine = ++newest;
    if (stop) stop.abort();
    stop = new AbortController();
    try {
      const answer = await fetch(where, { ...how, signal: stop.signal, redirect: "error" });
      if (mine === newest && answer.status === 200) put(await answer.text(), !how.body);
      else if (answer.status === 409) location.replace("/");
      else if (mine === newest) wait();
    } catch (error) {
      if (error.name !== "AbortError") document.title = "Not running - loadsim";
    }
  };

  const typed = () => {
    const data = new URLSearchParams(new FormData(form));
    data.set("live", "1");
    ask("/answer", { method: "POST", body: data });
  };

  // the arrow of the field he is at
  const light = () => {
    const at = (document.activeElement.name || "").replace("width_tolerance", "undercut_width");
    const name = at.replace("slot.", "dim-");
    for (const part of document.querySelectorAll("#drawing [data-part]")) {
      part.classList.toggle("lit", part.dataset.part === name);
    }
  };

  // the handle of the feeds: a row of the table, and the line on the chart
  const move = (handle) => {
    if (!handle) return;
    const rows = [...document.querySelectorAll("#feeds tbody tr")];
    const row = rows[handle.value];
    rows.forEach((r) => r.classList.toggle("tried", r === row));
    document.getElementById("feed-told").value = row.dataset.words;
    document.querySelector('#feeds [data-part="handle"]')
      .setAttribute("transform", `translate(${row.dataset.place} 0)`);
    const take = row.querySelector("button");
    const own = document.getElementById("feed-take");
    if (own) { own.disabled = !(take && take.value); own.value = take ? take.value : ""; }
  };

  const later = (what, time) => { clearTimeout(timer); if (!gone) timer = setTimeout(what, time); };
  const proposing = () => !document.querySelector(".settings");

  function wait() {
    const counting = document.getElementById("waiting");
    if (counting) later(() => ask(`/?at=${encodeURIComponent(form.elements.at.value)}`, {}), POLL);
    else if (form.dataset.proposal && !proposing()) location.replace("/");
  }

  if (document.getElementById("waiting") && proposing()) form.dataset.proposal = "1";
  document.documentElement.classList.add("scripted");
  document.addEventListener("focusin", light);
  document.addEventListener("input", (e) => { if (e.target.id === "feed-handle") move(e.target); });
  form.addEventListener("input", () => later(typed, PAUSE));
  // what is sent off is not overtaken by what was typed before
  document.addEventListener("submit", () => { gone = true; clearTimeout(timer); if (stop) stop.abort(); });
  move(document.getElementById("feed-handle"));
  wait();
  // typed before this ran, or put back by the browser
  const typedBefore = (e) => e.type === "text" && e.value !== e.defaultValue;
  if ([...form.elements].some(typedBefore)) later(typed, PAUSE);
})();
