-- Patients, their courses of treatment, the screws in their bone.

create table holdfast.patients (
    clinic_id uuid not null references holdfast.clinics (id),
    id uuid not null,
    version integer not null default 1,
    chart_number text not null check (chart_number <> ''),
    given_name text,
    family_name text,
    birth_date date,
    sex text check (sex in ('female', 'male', 'other', 'unknown')),
    identifiers jsonb,
    cigarettes_per_day double precision check (cigarettes_per_day >= 0 and cigarettes_per_day < 'infinity'),
    note text,
    created_at timestamptz not null default now(),
    updated_at timestamptz not null default now(),
    primary key (clinic_id, id),
    constraint patients_chart_number_key unique (clinic_id, chart_number)
);
comment on table holdfast.patients is 'Patients; only the chart number is needed';
comment on column holdfast.patients.chart_number is 'The clinic''s own number';
comment on column holdfast.patients.given_name is 'Given name';
comment on column holdfast.patients.family_name is 'Family name';
comment on column holdfast.patients.birth_date is 'Date of birth';
comment on column holdfast.patients.sex is 'female, male, other or unknown';
comment on column holdfast.patients.identifiers is 'Numbers in other systems: [{"system", "value"}]';
comment on column holdfast.patients.cigarettes_per_day is 'Cigarettes a day; NULL = not asked';
comment on column holdfast.patients.note is 'Free text';
select holdfast.resource_table('patients');

create table holdfast.cases (
    clinic_id uuid not null references holdfast.clinics (id),
    id uuid not null,
    version integer not null default 1,
    patient_id uuid not null,
    title text,
    clinician text,
    opened_on date,
    closed_on date,
    state text not null default 'open' check (state in ('open', 'finished', 'stopped')),
    arches jsonb,
    teeth jsonb,
    segments jsonb,
    goals jsonb,
    stages jsonb,
    note text,
    created_at timestamptz not null default now(),
    updated_at timestamptz not null default now(),
    primary key (clinic_id, id),
    constraint cases_patient_key unique (clinic_id, id, patient_id),
    constraint cases_patient_id_fkey foreign key (clinic_id, patient_id) references holdfast.patients (clinic_id, id),
    constraint cases_closed_on_check check (closed_on >= opened_on)
);
create index cases_by_patient on holdfast.cases (clinic_id, patient_id);
comment on table holdfast.cases is 'Courses of treatment';
comment on column holdfast.cases.patient_id is 'Whose treatment it is';
comment on column holdfast.cases.title is 'The treatment in a few words';
comment on column holdfast.cases.clinician is 'Who leads it';
comment on column holdfast.cases.opened_on is 'First day';
comment on column holdfast.cases.closed_on is 'Last day; NULL = still running';
comment on column holdfast.cases.state is 'open, finished or stopped';
comment on column holdfast.cases.arches is 'Measured arches, mm; as in the mechanics document';
comment on column holdfast.cases.teeth is 'Teeth with what was measured on them, mm; as in the mechanics document';
comment on column holdfast.cases.segments is 'Teeth joined to groups; as in the mechanics document';
comment on column holdfast.cases.goals is 'Wished movement of segments, mm and deg';
comment on column holdfast.cases.stages is 'Planned stages in order';
comment on column holdfast.cases.note is 'Free text';
select holdfast.resource_table('cases');

create table holdfast.screws (
    clinic_id uuid not null references holdfast.clinics (id),
    id uuid not null,
    version integer not null default 1,
    patient_id uuid not null,
    case_id uuid not null,
    name text not null check (name <> ''),
    site text not null,
    screw_model_id uuid not null,
    lot text,
    expires_on date,
    udi text,
    entry jsonb,
    axis jsonb,
    tilt_deg double precision,
    tissue_mm double precision check (tissue_mm >= 0 and tissue_mm < 'infinity'),
    stand_off_mm double precision check (stand_off_mm >= 0 and stand_off_mm < 'infinity'),
    cortex_mm double precision check (cortex_mm > 0 and cortex_mm < 'infinity'),
    cortex_modulus_mpa double precision check (cortex_modulus_mpa > 0 and cortex_modulus_mpa < 'infinity'),
    cancellous_modulus_mpa double precision check (cancellous_modulus_mpa > 0 and cancellous_modulus_mpa < 'infinity'),
    root_distance_mm double precision check (root_distance_mm >= 0 and root_distance_mm < 'infinity'),
    mucosa text check (mucosa in ('attached', 'movable')),
    predrilled boolean,
    placed_on date not null,
    placed_by_count integer check (placed_by_count >= 0),
    insertion_torque_ncm double precision check (insertion_torque_ncm >= 0 and insertion_torque_ncm < 'infinity'),
    state text not null default 'in-place' check (state in ('in-place', 'loose', 'lost', 'removed')),
    state_on date,
    state_reason text,
    created_at timestamptz not null default now(),
    updated_at timestamptz not null default now(),
    primary key (clinic_id, id),
    constraint screws_name_key unique (clinic_id, case_id, name),
    constraint screws_case_id_fkey foreign key (clinic_id, case_id, patient_id)
        references holdfast.cases (clinic_id, id, patient_id),
    constraint screws_patient_id_fkey foreign key (clinic_id, patient_id) references holdfast.patients (clinic_id, id),
    constraint screws_site_fkey foreign key (clinic_id, site) references holdfast.sites (clinic_id, key),
    constraint screws_screw_model_id_fkey foreign key (clinic_id, screw_model_id)
        references holdfast.screw_models (clinic_id, id),
    constraint screws_tilt_deg_check check (tilt_deg between -90 and 90),
    constraint screws_state_on_check check (state_on >= placed_on and (state = 'in-place' or state_on is not null))
);
create index screws_by_patient on holdfast.screws (clinic_id, patient_id);
create index screws_by_site on holdfast.screws (clinic_id, site);
create index screws_by_model on holdfast.screws (clinic_id, screw_model_id);
create index screws_by_lot on holdfast.screws (clinic_id, lot);
comment on table holdfast.screws is 'Screws in bone; they stay when plates change';
comment on column holdfast.screws.patient_id is 'Whose bone';
comment on column holdfast.screws.case_id is 'Course of treatment; one of the same patient';
comment on column holdfast.screws.name is 'Name within the case, as plates'' seats say it';
comment on column holdfast.screws.site is 'Key of the site';
comment on column holdfast.screws.screw_model_id is 'Model with its dimensions';
comment on column holdfast.screws.lot is 'Lot on the package';
comment on column holdfast.screws.expires_on is 'Last day of use on the package';
comment on column holdfast.screws.udi is 'Device identifier as scanned, every character';
comment on column holdfast.screws.entry is 'Point where the axis meets the bone, mm: [x, y, z] or a told point';
comment on column holdfast.screws.axis is 'Direction from tip to head, or "perpendicular"; NULL = not told';
comment on column holdfast.screws.tilt_deg is 'Lean of a perpendicular axis towards anterior, deg';
comment on column holdfast.screws.tissue_mm is 'Thickness of mucosa under the head, mm';
comment on column holdfast.screws.stand_off_mm is 'Height of the head over the mucosa, mm';
comment on column holdfast.screws.cortex_mm is 'Measured cortical bone, mm';
comment on column holdfast.screws.cortex_modulus_mpa is 'Modulus of the cortex, MPa';
comment on column holdfast.screws.cancellous_modulus_mpa is 'Modulus of the bone under the cortex, MPa';
comment on column holdfast.screws.root_distance_mm is 'Least distance to a root, mm';
comment on column holdfast.screws.mucosa is 'attached or movable';
comment on column holdfast.screws.predrilled is 'A hole was drilled first';
comment on column holdfast.screws.placed_on is 'Day of insertion';
comment on column holdfast.screws.placed_by_count is 'How many screws the operator had placed before';
comment on column holdfast.screws.insertion_torque_ncm is 'Largest torque at insertion, N cm';
comment on column holdfast.screws.state is 'in-place, loose, lost or removed';
comment on column holdfast.screws.state_on is 'Day since when; needed for every state but in-place';
comment on column holdfast.screws.state_reason is 'Why, in free text';
select holdfast.resource_table('screws');

-- A screw keeps the dimensions it was made with: those of a model in use stand still.
create function holdfast.screw_model_in_use() returns trigger
language plpgsql set search_path = holdfast, pg_temp as $$
begin
    if exists (select from screws s where s.clinic_id = old.clinic_id and s.screw_model_id = old.id) then
        raise exception 'dimensions of a screw model in use stand still'
            using errcode = '23514', constraint = 'screw_models_in_use', table = 'screw_models';
    end if;
    return new;
end $$;
comment on function holdfast.screw_model_in_use is 'Before update of dimensions: refused when a screw has the model';
create trigger in_use before update on holdfast.screw_models for each row
    when ((new.diameter_mm, new.core_mm, new.length_mm, new.thread_pitch_mm, new.modulus_mpa, new.poisson, new.tapered)
        is distinct from (old.diameter_mm, old.core_mm, old.length_mm, old.thread_pitch_mm, old.modulus_mpa, old.poisson, old.tapered))
    execute function holdfast.screw_model_in_use();
