"""The report of a run as one HTML file: views of the findings, charts, and the page around them."""
