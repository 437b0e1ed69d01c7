/* A refusal that is out of sight looks as if nothing had happened: on a telephone its field may lie far down. */

const field = document.querySelector("[aria-invalid=true]:not([type=hidden])")
  ?? document.querySelector(".at-fault :is(input:not([type=hidden]), select, textarea)");

if (field === null) {
  document.querySelector(".told").scrollIntoView({ block: "start" });
} else {
  for (let fold = field.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  field.focus({ preventScroll: true });
  field.scrollIntoView({ block: "center" });
}
