/* Takes a file on, step by step, until it is in, out again or stopped. Without this a button asks for each step. */
const AGAIN_MS = 5000;

const step = () => document.querySelector("[data-goes-on] form");
const rest = (ms) => new Promise((done) => setTimeout(done, ms));

async function ask(form) {
  const answer = await fetch(form.action, { method: "POST", body: new FormData(form, form.querySelector("button")) });
  if (!answer.ok) throw new Error(answer.status);
  return new DOMParser().parseFromString(await answer.text(), "text/html");
}

/* While nothing but the figures differ the buttons stay as they are, so that a thumb on one of them meets it. */
function lay(fresh) {
  const now = document.getElementById("import");
  const then = fresh.getElementById("import");
  if (!then) return location.reload();
  if (now.dataset.state !== then.dataset.state) return now.replaceWith(then);
  document.getElementById("import-progress").replaceChildren(...fresh.getElementById("import-progress").childNodes);
}

async function goOn() {
  for (let form = step(); form; form = step()) {
    form.parentElement.hidden = true;
    const trouble = document.getElementById("import-no-answer");
    try {
      lay(await ask(form));
      trouble.hidden = true;
    } catch {
      trouble.hidden = false;
      await rest(AGAIN_MS);
    }
  }
}

goOn();
