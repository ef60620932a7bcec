"""What people see: tables, figures and the report page."""
