"""The bench as a web application: routes, guard, and the door to the shop's network."""
