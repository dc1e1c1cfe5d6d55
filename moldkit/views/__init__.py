"""What people see: sentences, tables, charts, sheets, and the widgets of the notebooks."""
