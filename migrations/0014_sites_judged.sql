-- A clinic's own figures of a site bear on the judgement of every case with a screw there.
create trigger standings_changed after update on holdfast.sites referencing new table as news
    for each statement execute function holdfast.standings_follow();
