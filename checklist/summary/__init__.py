"""Documents made of a session: pure, a session goes in and a document comes out."""
