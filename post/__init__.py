"""From unit solutions to bondlines, figures and the report."""
