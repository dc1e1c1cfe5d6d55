"""Documents for paper: what stands on a page, and the writers that set it as PDF, as HTML and as a workbook."""
