"""How people and loggers write things, before anything is made of it."""
