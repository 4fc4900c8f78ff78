/* What the server says in letters, as the bytes that a browser's keys want, and back. Newer browsers could do it themselves. */
function bytes(letters) {
  const plain = atob(letters.replace(/-/g, "+").replace(/_/g, "/"));
  return Uint8Array.from(plain, (one) => one.charCodeAt(0));
}

function letters(buffer) {
  const plain = Array.from(new Uint8Array(buffer), (one) => String.fromCharCode(one)).join("");
  return btoa(plain).replace(/\+/g, "-").replace(/\//g, "_").replace(/=/g, "");
}

const keys = (told = []) => told.map((one) => ({ ...one, id: bytes(one.id) }));

/* What the phone is asked, from the server's JSON. */
export function question(told) {
  const asked = { ...told, challenge: bytes(told.challenge) };
  if (told.user) asked.user = { ...told.user, id: bytes(told.user.id) };
  if (told.excludeCredentials) asked.excludeCredentials = keys(told.excludeCredentials);
  if (told.allowCredentials) asked.allowCredentials = keys(told.allowCredentials);
  return asked;
}

/* What the phone answers, as JSON for the server. */
export function answer({ id, rawId, type, response }) {
  const said = {};
  for (const name of ["clientDataJSON", "attestationObject", "authenticatorData", "signature", "userHandle"]) {
    if (response[name]) said[name] = letters(response[name]);
  }
  return JSON.stringify({ id, rawId: letters(rawId), type, response: said });
}
