/* What this page and the office say to each other: the office says which is the least it reads. */
export const FORM = 1;
