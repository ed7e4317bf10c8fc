-- The schema, the runtime role, who may ask: clinics and their tokens.

create schema if not exists holdfast;
comment on schema holdfast is 'Orthodontic cases on skeletal anchorage. Every row belongs to one clinic. Units stand in the column names.';

-- The role may have been made by the administrator already, with the sign-in method of the house.
do $$
begin
    create role holdfast_app login noinherit nosuperuser nocreatedb nocreaterole nobypassrls;
exception when duplicate_object or unique_violation then null;
end $$;

do $$
begin
    execute format('revoke temporary on database %I from public', current_database());
    execute format('alter role holdfast_app in database %I set search_path = holdfast, pg_temp', current_database());
exception when insufficient_privilege then
    raise notice 'role holdfast_app belongs to another administrator: set its search_path to holdfast, pg_temp';
end $$;
revoke create on schema public from public;
revoke all on schema holdfast from public;
grant usage on schema holdfast to holdfast_app;

-- Row security, forced on the owner too, by one rule for all tables. The scalar sub-select is evaluated once per
-- query; the empty string is what a setting reads as after its transaction has ended.
create function holdfast.tenant_table(table_name text) returns void
language plpgsql set search_path = holdfast, pg_temp as $$
declare
    rule constant text := '(clinic_id = (select nullif(current_setting(''app.clinic'', true), '''')::uuid))';
begin
    execute format('alter table %I enable row level security', table_name);
    execute format('alter table %I force row level security', table_name);
    execute format('create policy tenant on %I using %s with check %s', table_name, rule, rule);
    execute format('alter table %I alter clinic_id set default nullif(current_setting(''app.clinic'', true), '''')::uuid', table_name);
    execute format('comment on column %I.clinic_id is ''Clinic that the row belongs to''', table_name);
end $$;
comment on function holdfast.tenant_table is 'For migrations: puts a table with clinic_id under row security';

create function holdfast.touch() returns trigger
language plpgsql set search_path = holdfast, pg_temp as $$
begin
    if (new.clinic_id, new.id) is distinct from (old.clinic_id, old.id) then
        raise exception 'a row keeps its clinic and its id' using errcode = '23514', constraint = 'identity';
    end if;
    new.version := old.version + 1;
    new.created_at := old.created_at;
    new.updated_at := now();
    return new;
end $$;
comment on function holdfast.touch is 'Before update: counts the version, keeps identity and creation time';

-- A table that the service offers as a resource of its own.
create function holdfast.resource_table(table_name text) returns void
language plpgsql set search_path = holdfast, pg_temp as $$
begin
    perform tenant_table(table_name);
    execute format('create trigger touch before update on %I for each row execute function touch()', table_name);
    execute format('grant select, insert, update on %I to holdfast_app', table_name);
    execute format('comment on column %I.id is ''UUIDv7 given by the service''', table_name);
    execute format('comment on column %I.version is ''Counts the changes from 1; behind the entity tag''', table_name);
    execute format('comment on column %I.created_at is ''Time of the first insert''', table_name);
    execute format('comment on column %I.updated_at is ''Time of the last change''', table_name);
end $$;
comment on function holdfast.resource_table is 'For migrations: tenant_table, change counter and the rights of the runtime role';

create table holdfast.clinics (
    id uuid primary key,
    name text not null unique check (name <> ''),
    demo boolean not null default false,
    created_at timestamptz not null default now()
);
comment on table holdfast.clinics is 'Tenants';
comment on column holdfast.clinics.id is 'UUIDv7; the clinic_id of every other table';
comment on column holdfast.clinics.name is 'Name by which the administrator finds the clinic';
comment on column holdfast.clinics.demo is 'Holds invented patients only';
comment on column holdfast.clinics.created_at is 'Time of the first insert';

alter table holdfast.clinics enable row level security;
alter table holdfast.clinics force row level security;
create policy tenant on holdfast.clinics
    using (id = (select nullif(current_setting('app.clinic', true), '')::uuid))
    with check (id = (select nullif(current_setting('app.clinic', true), '')::uuid));
create policy owner on holdfast.clinics to current_user using (true) with check (true);
grant select on holdfast.clinics to holdfast_app;

create table holdfast.tokens (
    clinic_id uuid not null references holdfast.clinics (id),
    id uuid not null,
    digest bytea not null unique check (octet_length(digest) = 32),
    role text not null check (role in ('clinician', 'assistant', 'dashboard', 'integrator', 'auditor', 'admin')),
    label text not null,
    created_at timestamptz not null default now(),
    expires_at timestamptz,
    revoked_at timestamptz,
    last_used_at timestamptz,
    primary key (clinic_id, id)
);
comment on table holdfast.tokens is 'Bearer tokens by digest; the runtime role reaches them only through authenticate()';
comment on column holdfast.tokens.id is 'UUIDv7; names the token without telling it';
comment on column holdfast.tokens.digest is 'SHA-256 of the token text; the text itself is kept nowhere. Unique over all clinics: it is what tells the clinic';
comment on column holdfast.tokens.role is 'What its bearer may do';
comment on column holdfast.tokens.label is 'Where it is used, in the words of who made it';
comment on column holdfast.tokens.created_at is 'Time of the first insert';
comment on column holdfast.tokens.expires_at is 'Refused from this time on; NULL = no end';
comment on column holdfast.tokens.revoked_at is 'Refused since this time; NULL = in force';
comment on column holdfast.tokens.last_used_at is 'Last use, to the minute';
select holdfast.tenant_table('tokens');
-- authenticate() runs with the owner's rights, before the clinic is known.
create policy owner on holdfast.tokens to current_user using (true) with check (true);
