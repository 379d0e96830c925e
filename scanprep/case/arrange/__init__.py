"""Where things stand: first layouts, nudges, moves and tries, and figures of the wall's spacing. Proposals only."""
