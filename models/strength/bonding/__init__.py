"""Bond lines, laps, bonded sockets, sleeves and straps."""
