/* Small pieces of the page, made by hand. */
export const at = (id) => document.getElementById(id);

export function el(tag, marks = {}, ...inside) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(marks)) {
    if (name in made) made[name] = value;
    else made.setAttribute(name, value);
  }
  made.append(...inside);
  return made;
}

/* One large choice: the whole of it can be tapped. */
export function pick(type, name, value, text, more = "", checked = false) {
  const words = el("span", {}, text);
  if (more) words.append(el("small", {}, more));
  return el("label", { className: "pick" }, el("input", { type, name, value, checked }), words);
}

export const button = (text, act) => el("button", { type: "button", className: "button", onclick: act }, text);
