-- Who read and who wrote what about which patient. A request leaves its row in `audit_unsealed`, in its own transaction
-- and without an index or a reference to wait for; seal_audit() moves such rows into `audit` within a second and chains
-- them by digest, each clinic for itself. Columns name rows without referring to them: the trail outlives what it names.

create table holdfast.audit_unsealed (
    clinic_id uuid not null,
    at timestamptz not null default now(),
    token uuid not null default nullif(current_setting('app.token', true), '')::uuid,
    role text not null default nullif(current_setting('app.role', true), ''),
    action text not null check (action ~ '^[a-z-]+$'),
    resource text not null check (resource ~ '^/[a-z0-9/{}._-]*$'),
    records uuid[] not null,
    patients uuid[] not null,
    request text not null check (request ~ '^[A-Za-z0-9._-]+$'),
    outcome text not null check (outcome in ('done', 'not-found', 'forbidden', 'unauthenticated'))
);
comment on table holdfast.audit_unsealed is 'Rows of the audit that wait to be sealed';
comment on column holdfast.audit_unsealed.at is 'Time of the request''s transaction';
comment on column holdfast.audit_unsealed.token is 'Who: id of the token';
comment on column holdfast.audit_unsealed.role is 'The token''s role then';
comment on column holdfast.audit_unsealed.action is 'list, read, create, change, or what else was done';
comment on column holdfast.audit_unsealed.resource is 'Path without ids';
comment on column holdfast.audit_unsealed.records is 'Ids of the records read or written, or asked for in vain';
comment on column holdfast.audit_unsealed.patients is 'Ids of the patients they are about';
comment on column holdfast.audit_unsealed.request is 'Id of the request, as in the log';
comment on column holdfast.audit_unsealed.outcome is 'done, or why not';
select holdfast.tenant_table('audit_unsealed');
grant insert on holdfast.audit_unsealed to holdfast_app;

create table holdfast.audit (
    clinic_id uuid not null references holdfast.clinics (id),
    seq bigint not null check (seq > 0),
    id uuid not null,
    at timestamptz not null,
    token uuid not null,
    role text not null,
    action text not null,
    resource text not null,
    records uuid[] not null,
    patients uuid[] not null,
    request text not null,
    outcome text not null,
    digest bytea not null check (octet_length(digest) = 32),
    primary key (clinic_id, seq)
);
create index audit_by_time on holdfast.audit (clinic_id, at);
create index audit_by_token on holdfast.audit (clinic_id, token, seq);
comment on table holdfast.audit is 'The audit: rows in the order of their sealing, chained by digest; nothing is ever changed or removed';
comment on column holdfast.audit.seq is 'Counts the clinic''s rows from 1 without gaps';
comment on column holdfast.audit.id is 'Names the row';
comment on column holdfast.audit.at is 'Time of the request''s transaction';
comment on column holdfast.audit.token is 'Who: id of the token';
comment on column holdfast.audit.role is 'The token''s role then';
comment on column holdfast.audit.action is 'list, read, create, change, or what else was done';
comment on column holdfast.audit.resource is 'Path without ids';
comment on column holdfast.audit.records is 'Ids of the records read or written, or asked for in vain';
comment on column holdfast.audit.patients is 'Ids of the patients they are about';
comment on column holdfast.audit.request is 'Id of the request, as in the log';
comment on column holdfast.audit.outcome is 'done, or why not';
comment on column holdfast.audit.digest is 'SHA-256 of the digest before (of row 1: 32 zero bytes) and audit_text() of this row';
select holdfast.tenant_table('audit');
grant select on holdfast.audit to holdfast_app;

create table holdfast.audit_patients (
    clinic_id uuid not null,
    patient uuid not null,
    seq bigint not null,
    primary key (clinic_id, patient, seq),
    constraint audit_patients_seq_fkey foreign key (clinic_id, seq) references holdfast.audit (clinic_id, seq)
);
comment on table holdfast.audit_patients is 'audit.patients the other way round';
comment on column holdfast.audit_patients.patient is 'Patient';
comment on column holdfast.audit_patients.seq is 'Row of the audit';
select holdfast.tenant_table('audit_patients');
grant select on holdfast.audit_patients to holdfast_app;

create table holdfast.audit_heads (
    clinic_id uuid primary key references holdfast.clinics (id),
    seq bigint not null,
    digest bytea not null
);
comment on table holdfast.audit_heads is 'Where each clinic''s chain ends';
comment on column holdfast.audit_heads.seq is 'Its last row';
comment on column holdfast.audit_heads.digest is 'That row''s digest';
select holdfast.tenant_table('audit_heads');

-- seal_audit() works for all clinics.
create policy owner on holdfast.audit_unsealed to current_user using (true) with check (true);
create policy owner on holdfast.audit to current_user using (true) with check (true);
create policy owner on holdfast.audit_patients to current_user using (true) with check (true);
create policy owner on holdfast.audit_heads to current_user using (true) with check (true);

create function holdfast.audit_stands() returns trigger
language plpgsql set search_path = holdfast, pg_temp as $$
begin
    raise exception 'the audit stands as it is' using errcode = '42501';
end $$;
comment on function holdfast.audit_stands is 'Before a change of the audit: refused, to the owner too';
create trigger stands before update or delete or truncate on holdfast.audit execute function holdfast.audit_stands();
create trigger stands before update or delete or truncate on holdfast.audit_patients
    execute function holdfast.audit_stands();
