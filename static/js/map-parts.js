/* The parts of the map that its modules share. They are looked up anew each time: the server replaces them. */

export const map = document.querySelector("[data-map]");
export const pieces = () => [...document.querySelectorAll(".piece")];
export const pieceOf = (code) => document.querySelector(`.piece[data-code="${code}"]`);
export const give = () => document.getElementById("give");
export const numberOf = (element, name) => Number(element.dataset[name]);
export const middleOf = (element) => (numberOf(element, "from") + numberOf(element, "to")) / 2;
