// @ts-check
/** A page that looks on: when what it is about has changed, it fetches itself anew and takes over its content. */

const live = document.getElementById("live");

/** @param {HTMLElement} place */
async function refresh(place) {
  const answer = await fetch(location.href, { headers: { accept: "text/html" } });
  if (!answer.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = page.getElementById("live");
  if (fresh) place.replaceChildren(...fresh.childNodes);
}

if (live && live.dataset.live) {
  const source = new EventSource(live.dataset.live);
  source.addEventListener("changed", () => void refresh(live));
}
