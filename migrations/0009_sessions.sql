-- Sessions of browsers. Each stands for the token that it was opened with and ends with it.

create table holdfast.sessions (
    clinic_id uuid not null references holdfast.clinics (id),
    digest bytea not null unique check (octet_length(digest) = 32),
    token_id uuid not null default nullif(current_setting('app.token', true), '')::uuid,
    created_at timestamptz not null default now(),
    used_at timestamptz not null default now(),
    expires_at timestamptz not null default now() + interval '12 hours',
    primary key (clinic_id, digest),
    constraint sessions_token_id_fkey foreign key (clinic_id, token_id) references holdfast.tokens (clinic_id, id)
);
create index sessions_by_token on holdfast.sessions (clinic_id, token_id);
comment on table holdfast.sessions is 'Sessions of browsers by digest; who asks with one is who its token names';
comment on column holdfast.sessions.digest is 'SHA-256 of the cookie''s text; the text itself is kept nowhere. Unique over all clinics: it is what tells the clinic';
comment on column holdfast.sessions.token_id is 'Token that it was opened with';
comment on column holdfast.sessions.created_at is 'Time of signing in';
comment on column holdfast.sessions.used_at is 'Last use, to the minute; an hour after it the session has ended';
comment on column holdfast.sessions.expires_at is 'Refused from this time on, however used';
select holdfast.tenant_table('sessions');
-- authenticate() runs with the owner's rights, before the clinic is known.
create policy owner on holdfast.sessions to current_user using (true) with check (true);
grant select, insert, delete on holdfast.sessions to holdfast_app;
