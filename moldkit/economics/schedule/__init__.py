"""The work of a run laid on the shop's calendar: who does what when, in which mold, pot and chamber."""
