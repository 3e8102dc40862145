// The shelf's list, better with script: choosing, typing and sorting change the list in place. The server makes the rows
// either way, so there is one list and one address for it.
const form = document.getElementById("shelf-choice");
let going = null;
let wait = 0;

function address() {
  const wish = new URLSearchParams();
  for (const [name, value] of new FormData(form)) if (value) wish.set(name, value);
  const query = wish.toString();
  return query ? `/?${query}` : "/";
}

async function show(url) {
  going?.abort();
  going = new AbortController();
  try {
    const answer = await fetch(url, { signal: going.signal, headers: { accept: "text/html" } });
    if (!answer.ok) throw new Error(`answered ${answer.status}`);
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const id of ["rows", "list-count", "order-words"]) {
      const fresh = page.getElementById(id);
      if (!fresh) throw new Error("another page came");
      document.getElementById(id).replaceChildren(...fresh.childNodes);
    }
    document.getElementById("order").value = page.getElementById("order").value;
    history.replaceState(null, "", url);
  } catch (fault) {
    if (fault.name !== "AbortError") location.assign(url);
  }
}

if (form) {
  for (const button of form.querySelectorAll("[data-without-script]")) button.hidden = true;
  form.addEventListener("change", () => show(address()));
  form.addEventListener("submit", (event) => { event.preventDefault(); show(address()); });
  document.getElementById("find").addEventListener("input", () => {
    clearTimeout(wait);
    wait = setTimeout(() => show(address()), 200);
  });
  document.getElementById("rows").addEventListener("click", async (event) => {
    const link = event.target.closest("a.sort");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    const words = link.textContent;
    await show(link.getAttribute("href"));
    [...document.querySelectorAll("a.sort")].find((a) => a.textContent === words)?.focus();
  });
}
