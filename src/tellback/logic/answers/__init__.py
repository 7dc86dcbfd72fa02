"""The questions, a module each: plain frozen answers with a text and a JSON form."""
