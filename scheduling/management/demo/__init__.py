"""A made-up company to try the service on: its people, its week, and how a terminal shows them."""
