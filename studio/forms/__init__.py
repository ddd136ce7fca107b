"""Input into the records passes here; lengths leave in millimetres."""
