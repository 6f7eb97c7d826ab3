/* The words for the stages, as the page brings them: one table for server and browser (see base.html). */

const TABLE = JSON.parse(document.getElementById("stages").textContent);

/** The word for pixels that have passed a stage: "populated" for "populate". */
export const doneWord = (stage) => TABLE[stage]?.done ?? stage;
