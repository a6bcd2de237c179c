"""The steps of a refresh, in the order in which ``forecasting.refresh`` tells them."""
