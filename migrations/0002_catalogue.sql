-- What a clinic chooses from: sites, screw models, plate patterns.

create table holdfast.sites (
    clinic_id uuid not null references holdfast.clinics (id),
    id uuid not null,
    version integer not null default 1,
    key text not null check (key <> ''),
    name text not null,
    jaw text not null check (jaw in ('maxilla', 'mandible')),
    published boolean not null default false,
    loss_low double precision,
    loss_mid double precision,
    loss_high double precision,
    cortex_mm double precision check (cortex_mm > 0 and cortex_mm < 'infinity'),
    cancellous_modulus_mpa double precision check (cancellous_modulus_mpa > 0 and cancellous_modulus_mpa < 'infinity'),
    density_class text,
    mucosa text check (mucosa in ('attached', 'movable')),
    torque_low_ncm double precision,
    torque_high_ncm double precision,
    source text,
    created_at timestamptz not null default now(),
    updated_at timestamptz not null default now(),
    primary key (clinic_id, id),
    constraint sites_key_key unique (clinic_id, key),
    constraint sites_loss_check check (num_nonnulls(loss_low, loss_mid, loss_high) in (0, 3)
        and 0 <= loss_low and loss_low <= loss_mid and loss_mid <= loss_high and loss_high <= 1),
    constraint sites_torque_check check (num_nonnulls(torque_low_ncm, torque_high_ncm) in (0, 2)
        and 0 <= torque_low_ncm and torque_low_ncm <= torque_high_ncm and torque_high_ncm < 'infinity')
);
comment on table holdfast.sites is 'Anatomical sites for screws: the published ones, and what the clinic has measured itself';
comment on column holdfast.sites.key is 'Word by which screws and documents name the site';
comment on column holdfast.sites.name is 'The site in plain words';
comment on column holdfast.sites.jaw is 'maxilla or mandible';
comment on column holdfast.sites.published is 'True: published figures, kept up to date by migrate. Any change of a figure makes the row the clinic''s own';
comment on column holdfast.sites.loss_low is 'Share of screws lost, lower end of the 95 % interval, 0 to 1';
comment on column holdfast.sites.loss_mid is 'Share of screws lost, 0 to 1';
comment on column holdfast.sites.loss_high is 'Share of screws lost, upper end of the 95 % interval, 0 to 1';
comment on column holdfast.sites.cortex_mm is 'Thickness of cortical bone, mm';
comment on column holdfast.sites.cancellous_modulus_mpa is 'Modulus of the bone under the cortex, MPa';
comment on column holdfast.sites.density_class is 'Bone density class, D1 to D5';
comment on column holdfast.sites.mucosa is 'Usual mucosa: attached or movable';
comment on column holdfast.sites.torque_low_ncm is 'Insertion torque that is wished for, lower end, N cm';
comment on column holdfast.sites.torque_high_ncm is 'Insertion torque that is wished for, upper end, N cm';
comment on column holdfast.sites.source is 'Where the figures come from';
select holdfast.resource_table('sites');

create function holdfast.site_becomes_own() returns trigger
language plpgsql set search_path = holdfast, pg_temp as $$
begin
    new.published := false;
    return new;
end $$;
comment on function holdfast.site_becomes_own is 'Before update of a figure: the row is the clinic''s own from now on';
-- Fires for the service only: migrate refreshes published rows as the owner.
create trigger own before update on holdfast.sites for each row
    when (current_user = 'holdfast_app' and old.published
        and (new.jaw, new.loss_low, new.loss_mid, new.loss_high, new.cortex_mm, new.cancellous_modulus_mpa, new.mucosa,
            new.density_class, new.torque_low_ncm, new.torque_high_ncm)
        is distinct from (old.jaw, old.loss_low, old.loss_mid, old.loss_high, old.cortex_mm, old.cancellous_modulus_mpa,
            old.mucosa, old.density_class, old.torque_low_ncm, old.torque_high_ncm))
    execute function holdfast.site_becomes_own();

create table holdfast.screw_models (
    clinic_id uuid not null references holdfast.clinics (id),
    id uuid not null,
    version integer not null default 1,
    name text not null check (name <> ''),
    diameter_mm double precision not null check (diameter_mm > 0 and diameter_mm < 'infinity'),
    core_mm double precision check (core_mm > 0 and core_mm <= diameter_mm),
    length_mm double precision not null check (length_mm > 0 and length_mm < 'infinity'),
    thread_pitch_mm double precision check (thread_pitch_mm > 0 and thread_pitch_mm < 'infinity'),
    modulus_mpa double precision check (modulus_mpa > 0 and modulus_mpa < 'infinity'),
    poisson double precision check (poisson >= 0 and poisson < 0.5),
    tapered boolean,
    effective_from date,
    effective_to date,
    note text,
    created_at timestamptz not null default now(),
    updated_at timestamptz not null default now(),
    primary key (clinic_id, id),
    constraint screw_models_name_key unique nulls not distinct (clinic_id, name, effective_from),
    constraint screw_models_effective_to_check check (effective_to > effective_from)
);
comment on table holdfast.screw_models is 'Screws that the clinic uses; new dimensions are a new row with its own dates';
comment on column holdfast.screw_models.name is 'Name in the clinic''s words';
comment on column holdfast.screw_models.diameter_mm is 'Outer diameter of the thread, mm';
comment on column holdfast.screw_models.core_mm is 'Diameter of the core, mm';
comment on column holdfast.screw_models.length_mm is 'Length of the part in bone, mm';
comment on column holdfast.screw_models.thread_pitch_mm is 'Pitch of the thread, mm';
comment on column holdfast.screw_models.modulus_mpa is 'Modulus of the metal, MPa';
comment on column holdfast.screw_models.poisson is 'Poisson''s ratio of the metal, no unit';
comment on column holdfast.screw_models.tapered is 'Tapered rather than cylindrical';
comment on column holdfast.screw_models.effective_from is 'First day of use; NULL = always';
comment on column holdfast.screw_models.effective_to is 'First day it is no longer chosen; NULL = open';
comment on column holdfast.screw_models.note is 'Free text';
select holdfast.resource_table('screw_models');

create table holdfast.plate_patterns (
    clinic_id uuid not null references holdfast.clinics (id),
    id uuid not null,
    version integer not null default 1,
    name text not null check (name <> ''),
    purpose text,
    material jsonb,
    nodes jsonb,
    bars jsonb,
    seats jsonb,
    fittings jsonb,
    effective_from date,
    effective_to date,
    created_at timestamptz not null default now(),
    updated_at timestamptz not null default now(),
    primary key (clinic_id, id),
    constraint plate_patterns_name_key unique nulls not distinct (clinic_id, name, effective_from),
    constraint plate_patterns_effective_to_check check (effective_to > effective_from)
);
comment on table holdfast.plate_patterns is 'Plates the clinic makes again and again; a setup copies its pattern and keeps the copy';
comment on column holdfast.plate_patterns.name is 'Name in the clinic''s words';
comment on column holdfast.plate_patterns.purpose is 'What it is for';
comment on column holdfast.plate_patterns.material is 'Name of a material, or its numbers in MPa';
comment on column holdfast.plate_patterns.nodes is 'Named points, mm';
comment on column holdfast.plate_patterns.bars is 'Bars between nodes with their sections, mm or inch as named';
comment on column holdfast.plate_patterns.seats is 'Nodes that sit on screws';
comment on column holdfast.plate_patterns.fittings is 'Hooks, eyelets and tubes at nodes';
comment on column holdfast.plate_patterns.effective_from is 'First day of use; NULL = always';
comment on column holdfast.plate_patterns.effective_to is 'First day it is no longer chosen; NULL = open';
select holdfast.resource_table('plate_patterns');
