-- What happened to the records of a clinic, in an order that never changes behind a reader. A change leaves its row in
-- `events_unsealed`, in its own transaction; seal_events() moves committed rows into `events` and gives each the
-- clinic's next position: whatever becomes visible later stands further on. Rows name records and tell nothing of them.

create table holdfast.events_unsealed (
    clinic_id uuid not null,
    seq bigint generated always as identity,
    at timestamptz not null default now(),
    type text not null check (type ~ '^[a-z-]+[.](created|changed|erased)$'),
    resource text not null check (resource ~ '^/v1/[a-z-]+$'),
    id uuid not null,
    version integer not null,
    request text
);
comment on table holdfast.events_unsealed is 'Events that wait for their position';
comment on column holdfast.events_unsealed.seq is 'Order of writing';
comment on column holdfast.events_unsealed.at is 'Time of the change''s transaction';
comment on column holdfast.events_unsealed.type is 'What happened: visit.created, screw.changed, patient.erased';
comment on column holdfast.events_unsealed.resource is 'Path under which the record is or was read';
comment on column holdfast.events_unsealed.id is 'The record';
comment on column holdfast.events_unsealed.version is 'Its version after the change; of an erased one the last';
comment on column holdfast.events_unsealed.request is 'Id of the request, as in the log; NULL = by the administrator''s hand';
select holdfast.tenant_table('events_unsealed');
grant insert on holdfast.events_unsealed to holdfast_app;

create table holdfast.events (
    clinic_id uuid not null references holdfast.clinics (id),
    position bigint not null check (position > 0),
    at timestamptz not null,
    type text not null,
    resource text not null,
    id uuid not null,
    version integer not null,
    request text,
    primary key (clinic_id, position)
);
comment on table holdfast.events is 'The feed of events; rows are only ever added at its end and, after the days of event_days, removed at its beginning';
comment on column holdfast.events.position is 'Counts the clinic''s events from 1 without gaps';
comment on column holdfast.events.at is 'Time of the change''s transaction';
comment on column holdfast.events.type is 'What happened';
comment on column holdfast.events.resource is 'Path under which the record is or was read';
comment on column holdfast.events.id is 'The record';
comment on column holdfast.events.version is 'Its version after the change; of an erased one the last';
comment on column holdfast.events.request is 'Id of the request, as in the log; NULL = by the administrator''s hand';
select holdfast.tenant_table('events');
grant select on holdfast.events to holdfast_app;

create table holdfast.event_heads (
    clinic_id uuid primary key references holdfast.clinics (id),
    position bigint not null,
    trimmed bigint not null default 0
);
comment on table holdfast.event_heads is 'How far each clinic''s feed reaches';
comment on column holdfast.event_heads.position is 'Its last event';
comment on column holdfast.event_heads.trimmed is 'The last event that is no longer kept; 0 = all are';
select holdfast.tenant_table('event_heads');
grant select on holdfast.event_heads to holdfast_app;

-- seal_events() and trim_events() work for all clinics.
create policy owner on holdfast.events_unsealed to current_user using (true) with check (true);
create policy owner on holdfast.events to current_user using (true) with check (true);
create policy owner on holdfast.event_heads to current_user using (true) with check (true);
