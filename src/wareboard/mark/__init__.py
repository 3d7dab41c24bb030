"""Mark: a drawing to clean lines, and lines laid on the curved leather-hard wall as a template to print."""
