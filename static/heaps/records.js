/* What a record must be to be sent and shown; and how many things some of them are. */

export function isSound({ uid, entry: it, person }) {
  try {
    return it.uid === uid && uid.trim() && it.kind.trim() && it.occurred_at.trim() && !isNaN(Date.parse(it.occurred_at))
      && it.details instanceof Object && (person ?? "").trim() != null && JSON.stringify(it);
  } catch {
    return false;
  }
}

/* Neither refused by the server nor taken back here. */
export const holds = ({ refused, withdrawn }) => !refused && !withdrawn;

export const isAnothers = ({ person: whose }, person) => whose && person && whose !== person;

/* Which entries others of these correct ("instead") or undo ("withdraw"). */
export const mended = (records, says) =>
  new Set(records.filter(holds).map(({ entry: { details } }) => details.says === says && details.corrects));

/* An entry and what undoes it are one thing to a person, while both wait. */
export function things(records) {
  const here = new Set(records.map((one) => one.uid));
  return records.filter(({ entry: { details: one } }) => one.says !== "withdraw" || !here.has(one.corrects));
}
