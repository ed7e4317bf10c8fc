-- A setup with the version worn last. `version` counts changes of the setup, `plate_version` is its plate's number.
drop view if exists holdfast.current_setups;
create view holdfast.current_setups with (security_invoker = true) as
    select s.clinic_id, s.id, s.version, s.case_id, s.name, s.purpose, v.version as plate_version, v.worn_from, v.worn_to,
        v.pattern_id, v.material, v.nodes, v.bars, v.seats, v.fittings, s.created_at, s.updated_at
    from holdfast.setups s
    left join lateral (select * from holdfast.setup_versions l
        where l.clinic_id = s.clinic_id and l.setup_id = s.id order by l.version desc limit 1) v on true;
comment on view holdfast.current_setups is 'Setups with their latest plate version';
