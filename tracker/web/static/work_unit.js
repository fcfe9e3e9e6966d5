// A unit in the workshop: other work chosen from the catalogue fills in its usual figures.

const work = document.getElementById("other-work");
const caution = document.getElementById("other-caution");
const field = (id) => document.getElementById(id);
const EFFECTS = {
  ask: "The approving body is to be asked whether the approval stands. ",
  void: "This ends the approval for transport until the unit is approved anew. ",
};

work?.addEventListener("change", () => {
  const { mass = "", cut = "", permanent = "yes", caution: words = "", effect = "none" } = work.selectedOptions[0].dataset;
  field("other-mass").value = mass;
  field("other-cut").value = cut;
  field("other-permanent").value = permanent;
  caution.textContent = (EFFECTS[effect] ?? "") + words;
  caution.hidden = !caution.textContent;
});
