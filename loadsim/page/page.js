// While he types, the form is posted and what it changes is put in place; without this the page
// works by its plain forms.
"use strict";
(() => {
  const PAUSE = 250, POLL = 700;
  const form = document.getElementById("answer");
  let timer = 0, newest = 0, stop = null, gone = false;

  // the parts that change, and nothing that he types into or has unfolded
  const put = (text) => {
    const fresh = new DOMParser().parseFromString(text, "text/html");
    if (fresh.body.dataset.file !== document.body.dataset.file) return location.replace("/");
    for (const old of document.querySelectorAll("[data-live]")) {
      const now = fresh.querySelector(`[data-live="${old.dataset.live}"]`);
      if (!now || now.innerHTML === old.innerHTML) continue;
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
      if (now) field.classList.toggle("bad", !!now.querySelector(".error"));
    }
    document.title = fresh.title;
    light();
    wait();
  };

  const ask = async (where, how) => {
    const mine = ++newest;
    if (stop) stop.abort();
    stop = new AbortController();
    try {
      const answer = await fetch(where, { ...how, signal: stop.signal, redirect: "error" });
      if (mine === newest && answer.status === 200) put(await answer.text());
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
    const name = (document.activeElement.name || "").replace("slot.", "dim-");
    for (const part of document.querySelectorAll("#drawing [data-part]")) {
      part.classList.toggle("lit", part.dataset.part === name);
    }
  };

  const later = (what, time) => { clearTimeout(timer); if (!gone) timer = setTimeout(what, time); };
  const proposing = () => !document.querySelector(".settings");

  function wait() {
    const counting = document.getElementById("waiting");
    if (counting) later(() => ask(`/?at=${encodeURIComponent(form.elements.at.value)}`, {}), POLL);
    else if (form.dataset.proposal && !proposing()) location.replace("/");
  }

  if (document.getElementById("waiting") && proposing()) form.dataset.proposal = "1";
  document.addEventListener("focusin", light);
  form.addEventListener("input", () => later(typed, PAUSE));
  // what is sent off is not overtaken by what was typed before
  document.addEventListener("submit", () => { gone = true; clearTimeout(timer); if (stop) stop.abort(); });
  wait();
})();
