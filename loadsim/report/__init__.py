"""The printed report: drawings, figures and the page that holds them."""
