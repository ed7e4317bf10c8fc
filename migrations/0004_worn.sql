-- What is worn, and what was seen at each visit.

create table holdfast.setups (
    clinic_id uuid not null references holdfast.clinics (id),
    id uuid not null,
    version integer not null default 1,
    case_id uuid not null,
    name text not null check (name <> ''),
    purpose text,
    created_at timestamptz not null default now(),
    updated_at timestamptz not null default now(),
    primary key (clinic_id, id),
    constraint setups_case_key unique (clinic_id, id, case_id),
    constraint setups_name_key unique (clinic_id, case_id, name),
    constraint setups_case_id_fkey foreign key (clinic_id, case_id) references holdfast.cases (clinic_id, id)
);
comment on table holdfast.setups is 'Plates as worn on the screws of a case; what they are made of stands in setup_versions';
comment on column holdfast.setups.case_id is 'Course of treatment';
comment on column holdfast.setups.name is 'Name within the case';
comment on column holdfast.setups.purpose is 'What it is for';
select holdfast.resource_table('setups');

create table holdfast.setup_versions (
    clinic_id uuid not null references holdfast.clinics (id),
    setup_id uuid not null,
    version integer not null check (version > 0),
    worn_from date not null,
    worn_to date,
    pattern_id uuid,
    material jsonb,
    nodes jsonb,
    bars jsonb,
    seats jsonb,
    fittings jsonb,
    created_at timestamptz not null default now(),
    primary key (clinic_id, setup_id, version),
    constraint setup_versions_setup_id_fkey foreign key (clinic_id, setup_id) references holdfast.setups (clinic_id, id),
    constraint setup_versions_pattern_id_fkey foreign key (clinic_id, pattern_id)
        references holdfast.plate_patterns (clinic_id, id),
    constraint setup_versions_worn_to_check check (worn_to >= worn_from)
);
create index setup_versions_by_pattern on holdfast.setup_versions (clinic_id, pattern_id);
comment on table holdfast.setup_versions is 'A plate''s geometry through time: a change is a new row, the old one only gets its last day';
comment on column holdfast.setup_versions.setup_id is 'Setup';
comment on column holdfast.setup_versions.version is 'Counts from 1 without gaps; not the version of the setups row';
comment on column holdfast.setup_versions.worn_from is 'First day';
comment on column holdfast.setup_versions.worn_to is 'First day it was no longer worn; NULL = still worn';
comment on column holdfast.setup_versions.pattern_id is 'Pattern it was copied from';
comment on column holdfast.setup_versions.material is 'Name of a material, or its numbers in MPa';
comment on column holdfast.setup_versions.nodes is 'Named points, mm; as in the mechanics document';
comment on column holdfast.setup_versions.bars is 'Bars between nodes; as in the mechanics document';
comment on column holdfast.setup_versions.seats is 'Nodes that sit on screws; as in the mechanics document';
comment on column holdfast.setup_versions.fittings is 'Hooks, eyelets and tubes; as in the mechanics document';
comment on column holdfast.setup_versions.created_at is 'Time of the insert';
select holdfast.tenant_table('setup_versions');
grant select, insert, update (worn_to) on holdfast.setup_versions to holdfast_app;

-- The next number; the version before ends on the day this one begins.
create function holdfast.setup_version_follows() returns trigger
language plpgsql set search_path = holdfast, pg_temp as $$
declare
    before setup_versions;
begin
    -- One at a time per setup.
    perform from setups s where s.clinic_id = new.clinic_id and s.id = new.setup_id for update;
    select * into before from setup_versions v where v.clinic_id = new.clinic_id and v.setup_id = new.setup_id
        order by v.version desc limit 1;
    new.version := coalesce(before.version, 0) + 1;
    if new.worn_from < before.worn_from then
        raise exception 'a version is worn from no earlier than the one before'
            using errcode = '23514', constraint = 'setup_versions_worn_from_check', table = 'setup_versions';
    end if;
    update setup_versions v set worn_to = new.worn_from
        where v.clinic_id = new.clinic_id and v.setup_id = new.setup_id and v.version = before.version
        and (v.worn_to is null or v.worn_to > new.worn_from);
    return new;
end $$;
comment on function holdfast.setup_version_follows is 'Before insert: numbers the version and closes the one before';
create trigger follows before insert on holdfast.setup_versions for each row execute function holdfast.setup_version_follows();

create table holdfast.visits (
    clinic_id uuid not null references holdfast.clinics (id),
    id uuid not null,
    version integer not null default 1,
    case_id uuid not null,
    visited_on date not null,
    worn jsonb,
    elements jsonb,
    screw_checks jsonb,
    measures jsonb,
    actions jsonb,
    next_interval_days integer check (next_interval_days > 0),
    note text,
    created_at timestamptz not null default now(),
    updated_at timestamptz not null default now(),
    primary key (clinic_id, id),
    constraint visits_case_key unique (clinic_id, id, case_id),
    constraint visits_visited_on_key unique (clinic_id, case_id, visited_on),
    constraint visits_case_id_fkey foreign key (clinic_id, case_id) references holdfast.cases (clinic_id, id)
);
comment on table holdfast.visits is 'One day on a case: what was worn, activated, seen and measured';
comment on column holdfast.visits.case_id is 'Course of treatment';
comment on column holdfast.visits.visited_on is 'Day of the visit';
comment on column holdfast.visits.worn is 'Setups worn when the patient left: [{"setup_id", "version"}]; a version left out is the one worn that day';
comment on column holdfast.visits.elements is 'Force elements when the patient left, N and mm; as in the mechanics document';
comment on column holdfast.visits.screw_checks is 'Screws as seen: [{"screw", "mobility_grade" 0-3, "inflammation_grade" 0-3, "percussion_score", "resonance_score"}]';
comment on column holdfast.visits.measures is 'What was measured: overjet_mm, overbite_mm, spaces and positions in mm, forces in N';
comment on column holdfast.visits.actions is 'What was done';
comment on column holdfast.visits.next_interval_days is 'Days to the next visit';
comment on column holdfast.visits.note is 'Free text';
select holdfast.resource_table('visits');

create table holdfast.visit_setups (
    clinic_id uuid not null references holdfast.clinics (id),
    case_id uuid not null,
    visit_id uuid not null,
    setup_id uuid not null,
    setup_version integer not null,
    position integer not null,
    primary key (clinic_id, visit_id, setup_id),
    constraint visit_setups_visit_id_fkey foreign key (clinic_id, visit_id, case_id)
        references holdfast.visits (clinic_id, id, case_id),
    constraint visit_setups_setup_id_fkey foreign key (clinic_id, setup_id, case_id)
        references holdfast.setups (clinic_id, id, case_id),
    constraint visit_setups_setup_version_fkey foreign key (clinic_id, setup_id, setup_version)
        references holdfast.setup_versions (clinic_id, setup_id, version)
);
create index visit_setups_by_setup on holdfast.visit_setups (clinic_id, setup_id, setup_version);
comment on table holdfast.visit_setups is 'visits.worn as references, kept by a trigger';
comment on column holdfast.visit_setups.case_id is 'Case of the visit and of the setup alike';
comment on column holdfast.visit_setups.visit_id is 'Visit';
comment on column holdfast.visit_setups.setup_id is 'Setup, at most once a visit';
comment on column holdfast.visit_setups.setup_version is 'Its version that was worn';
comment on column holdfast.visit_setups.position is 'Place in visits.worn, from 1';
select holdfast.tenant_table('visit_setups');
grant select, insert, delete on holdfast.visit_setups to holdfast_app;

create function holdfast.visit_worn_resolved() returns trigger
language plpgsql set search_path = holdfast, pg_temp as $$
begin
    if jsonb_typeof(new.worn) <> 'array' then
        raise exception 'worn is a list' using errcode = '23514', constraint = 'visits_worn_check', table = 'visits';
    end if;
    select jsonb_agg(jsonb_build_object('setup_id', w.setup_id, 'version', coalesce(w.version,
            (select v.version from setup_versions v
             where v.clinic_id = new.clinic_id and v.setup_id = w.setup_id and v.worn_from <= new.visited_on
             order by v.version desc limit 1))) order by w.position)
        into new.worn
        from rows from (jsonb_to_recordset(new.worn) as (setup_id uuid, version integer)) with ordinality
            as w (setup_id, version, position);
    return new;
end $$;
comment on function holdfast.visit_worn_resolved is 'Before a change of worn: fills in the version worn on the day';
create trigger worn_resolved before insert or update of worn on holdfast.visits for each row
    when (new.worn is not null) execute function holdfast.visit_worn_resolved();

create function holdfast.visit_worn_kept() returns trigger
language plpgsql set search_path = holdfast, pg_temp as $$
begin
    delete from visit_setups k where k.clinic_id = new.clinic_id and k.visit_id = new.id;
    insert into visit_setups (clinic_id, case_id, visit_id, setup_id, setup_version, position)
        select new.clinic_id, new.case_id, new.id, w.setup_id, w.version, w.position
        from rows from (jsonb_to_recordset(new.worn) as (setup_id uuid, version integer)) with ordinality
            as w (setup_id, version, position);
    return null;
end $$;
comment on function holdfast.visit_worn_kept is 'After a change of worn: the same as references, so that nothing worn is unknown or another case''s';
create trigger worn_kept after insert or update of worn on holdfast.visits for each row
    execute function holdfast.visit_worn_kept();

create table holdfast.evaluations (
    clinic_id uuid not null references holdfast.clinics (id),
    visit_id uuid not null,
    digest text not null,
    core_version text not null,
    parameters text not null,
    evaluated_on date not null,
    answer text not null,
    created_at timestamptz not null default now(),
    primary key (clinic_id, visit_id, digest, core_version, parameters),
    constraint evaluations_visit_id_fkey foreign key (clinic_id, visit_id) references holdfast.visits (clinic_id, id)
);
comment on table holdfast.evaluations is 'Answers given for visits; a new model version adds one and changes none';
comment on column holdfast.evaluations.visit_id is 'Visit';
comment on column holdfast.evaluations.digest is 'Digest of the document that was evaluated';
comment on column holdfast.evaluations.core_version is 'Version of the computation';
comment on column holdfast.evaluations.parameters is 'Version of its constants';
comment on column holdfast.evaluations.evaluated_on is 'Day that the document is of';
comment on column holdfast.evaluations.answer is 'The answer as sent, JSON text';
comment on column holdfast.evaluations.created_at is 'Time of the insert';
select holdfast.tenant_table('evaluations');
grant select, insert on holdfast.evaluations to holdfast_app;
