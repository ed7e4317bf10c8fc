-- Who is told of events by a request of ours, and what became of each telling.

create table holdfast.webhooks (
    clinic_id uuid not null references holdfast.clinics (id),
    id uuid not null,
    version integer not null default 1,
    url text not null check (url ~ '^https?://[^[:space:]@#]+$'),
    description text,
    types text,
    active boolean not null default true,
    secret text not null check (secret like 'whsec\_%'),
    old_secret text,
    old_until timestamptz,
    created_at timestamptz not null default now(),
    updated_at timestamptz not null default now(),
    primary key (clinic_id, id)
);
comment on table holdfast.webhooks is 'Addresses that are told of events';
comment on column holdfast.webhooks.id is 'UUIDv7 given by the service';
comment on column holdfast.webhooks.version is 'Counts the changes from 1; behind the entity tag';
comment on column holdfast.webhooks.url is 'Where to';
comment on column holdfast.webhooks.description is 'Whose it is, in the words of who made it';
comment on column holdfast.webhooks.types is 'Types of events, parted by commas; NULL = all';
comment on column holdfast.webhooks.active is 'Events are told';
comment on column holdfast.webhooks.secret is 'Signs what is sent, as it is: the signature cannot be made from a digest of it. Not readable by the serving role but through claim_deliveries()';
comment on column holdfast.webhooks.old_secret is 'The one before, which signs beside it for a day; NULL = none';
comment on column holdfast.webhooks.old_until is 'Until when it does';
comment on column holdfast.webhooks.created_at is 'Time of the first insert';
comment on column holdfast.webhooks.updated_at is 'Time of the last change';
select holdfast.tenant_table('webhooks');
-- By another name than that of tables whose changes are events.
create trigger counted before update on holdfast.webhooks for each row execute function holdfast.touch();
grant select (clinic_id, id, version, url, description, types, active, created_at, updated_at),
    insert (clinic_id, id, url, description, types, active, secret), update (url, description, types, active)
    on holdfast.webhooks to holdfast_app;

create table holdfast.deliveries (
    clinic_id uuid not null,
    id uuid not null,
    webhook_id uuid not null,
    position bigint not null,
    type text not null,
    body text not null,
    state text not null default 'waiting' check (state in ('waiting', 'delivered', 'given-up')),
    attempts integer not null default 0,
    next_at timestamptz default now(),
    claimed_until timestamptz,
    status integer,
    error text,
    log text,
    created_at timestamptz not null default now(),
    primary key (clinic_id, id),
    constraint deliveries_webhook_id_fkey foreign key (clinic_id, webhook_id) references holdfast.webhooks (clinic_id, id)
);
create index deliveries_due on holdfast.deliveries (clinic_id, webhook_id, next_at) where state = 'waiting';
create index deliveries_by_time on holdfast.deliveries (clinic_id, created_at, id);
comment on table holdfast.deliveries is 'One event told to one address';
comment on column holdfast.deliveries.id is 'Behind the field webhook-id; the same over all attempts';
comment on column holdfast.deliveries.webhook_id is 'Whom it is told';
comment on column holdfast.deliveries.position is 'The event';
comment on column holdfast.deliveries.type is 'Its type';
comment on column holdfast.deliveries.body is 'What is sent, JSON text';
comment on column holdfast.deliveries.state is 'waiting, delivered or given-up';
comment on column holdfast.deliveries.attempts is 'Since it was first, or by hand again, put in line';
comment on column holdfast.deliveries.next_at is 'When it is tried next; NULL = not any more';
comment on column holdfast.deliveries.claimed_until is 'Somebody is at it, or was when it ended by force; NULL = nobody';
comment on column holdfast.deliveries.status is 'HTTP status of the last answer; NULL = there was none';
comment on column holdfast.deliveries.error is 'Why there was none';
comment on column holdfast.deliveries.log is 'One line an attempt: time, status or error, milliseconds; NULL = none yet';
comment on column holdfast.deliveries.created_at is 'Time of the insert';
select holdfast.tenant_table('deliveries');
grant select on holdfast.deliveries to holdfast_app;

create policy owner on holdfast.webhooks to current_user using (true) with check (true);
create policy owner on holdfast.deliveries to current_user using (true) with check (true);
