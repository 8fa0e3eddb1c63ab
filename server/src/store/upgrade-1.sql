-- Tally tablets are let in as walls are: one table for both.
CREATE TABLE paired (
    device        BLOB PRIMARY KEY NOT NULL,
    kind          TEXT NOT NULL,
    number        INTEGER NOT NULL,
    accepted_wall INTEGER NOT NULL
) STRICT;
INSERT INTO paired SELECT device, 'wall', number, accepted_wall FROM walls;
DROP TABLE walls;
