-- Tokens made by a clinic's own administrator, and what a patient may ask of the clinic.

-- Everything but the digest is told; nothing but the revocation is changed.
grant select (clinic_id, id, role, label, created_at, expires_at, revoked_at, last_used_at),
    insert (clinic_id, id, digest, role, label, expires_at), update (revoked_at) on holdfast.tokens to holdfast_app;

create table holdfast.erasures (
    clinic_id uuid not null references holdfast.clinics (id),
    id uuid not null,
    erased_at timestamptz not null default now(),
    reason text not null check (reason <> ''),
    token_id uuid not null default nullif(current_setting('app.token', true), '')::uuid,
    primary key (clinic_id, id),
    constraint erasures_token_id_fkey foreign key (clinic_id, token_id) references holdfast.tokens (clinic_id, id)
);
comment on table holdfast.erasures is 'What is left of erased patients';
comment on column holdfast.erasures.id is 'Id that the patient had';
comment on column holdfast.erasures.erased_at is 'Time of the erasure';
comment on column holdfast.erasures.reason is 'Why, in the words of who erased; no name';
comment on column holdfast.erasures.token_id is 'Who: id of the token';
select holdfast.tenant_table('erasures');
grant select on holdfast.erasures to holdfast_app;
