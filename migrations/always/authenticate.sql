-- The token that a browser's session stands for; nothing when the session has ended or the token is not in force.
create or replace function holdfast.session_token(session_digest bytea) returns setof holdfast.tokens
language plpgsql set search_path = holdfast, pg_temp as $$
declare
    session sessions;
begin
    select * into session from sessions s where s.digest = session_digest
        and s.expires_at > now() and s.used_at > now() - interval '1 hour';
    if not found then
        return;
    end if;
    -- To the minute, and never waiting for another request of the same session.
    if session.used_at < now() - interval '1 minute' then
        update sessions s set used_at = now()
            where (s.clinic_id, s.digest) in (select l.clinic_id, l.digest from sessions l
                where l.clinic_id = session.clinic_id and l.digest = session.digest for no key update skip locked);
    end if;
    return query select * from tokens t where t.clinic_id = session.clinic_id and t.id = session.token_id
        and t.revoked_at is null and (t.expires_at is null or t.expires_at > now());
end $$;
comment on function holdfast.session_token is 'The token behind a session, by the SHA-256 of the session''s secret';

-- Who asks: looks the token up by its digest, checks its role, and sets the clinic for this transaction only.
create or replace function holdfast.authenticate(token_digest bytea, roles text[],
    out clinic_id uuid, out token_id uuid, out role text)
language plpgsql security definer set search_path = holdfast, pg_temp as $$
declare
    found_token tokens;
begin
    select * into found_token from tokens t where t.digest = token_digest
        and t.revoked_at is null and (t.expires_at is null or t.expires_at > now());
    if not found then
        select * into found_token from session_token(token_digest);
    end if;
    if found_token.id is null then
        raise exception 'token unknown, expired or revoked' using errcode = 'HF401';
    end if;
    if found_token.role <> all (roles) then
        raise exception 'role not allowed' using errcode = 'HF403';
    end if;
    clinic_id := found_token.clinic_id;
    token_id := found_token.id;
    role := found_token.role;
    perform set_config('app.clinic', clinic_id::text, true), set_config('app.token', token_id::text, true),
        set_config('app.role', role, true);
    -- To the minute, and never waiting for another request of the same token, nor making one wait that refers to it.
    if found_token.last_used_at is null or found_token.last_used_at < now() - interval '1 minute' then
        update tokens t set last_used_at = now()
            where (t.clinic_id, t.id) in (select l.clinic_id, l.id from tokens l
                where l.clinic_id = found_token.clinic_id and l.id = found_token.id for no key update skip locked);
    end if;
end $$;
comment on function holdfast.authenticate is
    'Clinic, token and role of a bearer token or of a session by its SHA-256; HF401 when it is not in force, HF403 when its role is not among those allowed';
