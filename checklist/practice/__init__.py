"""How a performance went, and how performances compare: sessions in, figures out. Pure."""
