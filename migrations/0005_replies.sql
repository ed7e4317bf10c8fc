-- Replies to requests that carried an Idempotency-Key.

create table holdfast.replies (
    clinic_id uuid not null references holdfast.clinics (id),
    token_id uuid not null,
    path text not null,
    key text not null check (key <> ''),
    digest text not null,
    status integer not null check (status between 200 and 299),
    content_type text,
    fields text not null,
    body text,
    kept_at timestamptz not null default now(),
    primary key (clinic_id, token_id, path, key),
    constraint replies_token_id_fkey foreign key (clinic_id, token_id) references holdfast.tokens (clinic_id, id)
);
create index replies_by_age on holdfast.replies (clinic_id, kept_at);
comment on table holdfast.replies is 'Replies that a retried request gets again, for 24 hours';
comment on column holdfast.replies.token_id is 'Token of the request: another one does not see the reply';
comment on column holdfast.replies.path is 'Request target';
comment on column holdfast.replies.key is 'Idempotency-Key without quotation marks';
comment on column holdfast.replies.digest is 'SHA-256 of the request body, hexadecimal';
comment on column holdfast.replies.status is 'HTTP status';
comment on column holdfast.replies.content_type is 'Content-Type; NULL = no body';
comment on column holdfast.replies.fields is 'Other header fields of the resource, each name, tab, value, line end';
comment on column holdfast.replies.body is 'Body; NULL = none';
comment on column holdfast.replies.kept_at is 'Time of the request';
select holdfast.tenant_table('replies');
grant select, insert, update, delete on holdfast.replies to holdfast_app;
