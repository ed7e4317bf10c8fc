-- In the transaction of the change itself: what is rolled back has not happened.
create or replace function holdfast.announce() returns trigger
language plpgsql set search_path = holdfast, pg_temp as $$
begin
    if tg_op = 'DELETE' then
        insert into events_unsealed (clinic_id, type, resource, id, version, request) values (old.clinic_id,
            tg_argv[0] || '.erased', tg_argv[1], old.id, old.version, nullif(current_setting('app.request', true), ''));
    else
        insert into events_unsealed (clinic_id, type, resource, id, version, request) values (new.clinic_id,
            tg_argv[0] || case tg_op when 'INSERT' then '.created' else '.changed' end, tg_argv[1], new.id, new.version,
            nullif(current_setting('app.request', true), ''));
    end if;
    return null;
end $$;
comment on function holdfast.announce is 'After a change: leaves its event';

-- Every table that is a resource with a version.
do $$
declare
    name text;
begin
    for name in select c.relname from pg_trigger t join pg_class c on c.oid = t.tgrelid
        where c.relnamespace = 'holdfast'::regnamespace and t.tgname = 'touch'
        and not exists (select from pg_trigger a where a.tgrelid = c.oid and a.tgname = 'announce')
    loop
        execute format('create trigger announce after insert or update or delete on holdfast.%I for each row '
            'execute function holdfast.announce(%L, %L)', name, replace(rtrim(name, 's'), '_', '-'),
            '/v1/' || replace(name, '_', '-'));
    end loop;
end $$;

-- A clinic whose feed another connection is sealing is left to that one. What was written first stands first; a version
-- of a row always stands before the next one, which could only be written once the first was there.
create or replace function holdfast.seal_events() returns bigint
language plpgsql security definer set search_path = holdfast, pg_temp as $$
declare
    at_once constant integer := 2000;
    clinic uuid;
    sealed bigint;
    total bigint := 0;
begin
    for clinic in select distinct u.clinic_id from events_unsealed u loop
        continue when not pg_try_advisory_xact_lock(hashtextextended('events ' || clinic, 0));
        insert into event_heads (clinic_id, position) values (clinic, 0) on conflict do nothing;
        with taken as (
            delete from events_unsealed where ctid = any (array(
                select u.ctid from events_unsealed u where u.clinic_id = clinic order by u.seq limit at_once))
            returning *)
        insert into events (clinic_id, position, at, type, resource, id, version, request)
            select clinic, (select h.position from event_heads h where h.clinic_id = clinic)
                + row_number() over (order by t.seq), t.at, t.type, t.resource, t.id, t.version, t.request from taken t;
        get diagnostics sealed = row_count;
        perform line_up(clinic, (select h.position from event_heads h where h.clinic_id = clinic));
        update event_heads h set position = h.position + sealed where h.clinic_id = clinic and sealed > 0;
        total := total + sealed;
    end loop;
    return total;
end $$;
comment on function holdfast.seal_events is 'Gives waiting events of all clinics their positions, at most 2000 each; answers how many';

-- For those that carry events on to many readers at once: one clinic after the other, under its own row security.
create or replace function holdfast.events_since(clinics uuid[], positions bigint[], at_most integer) returns setof holdfast.events
language plpgsql set search_path = holdfast, pg_temp as $$
begin
    for n in 1 .. coalesce(cardinality(clinics), 0) loop
        perform set_config('app.clinic', clinics[n]::text, true);
        return query select * from events e where e.position > positions[n] order by e.position limit at_most;
    end loop;
end $$;
comment on function holdfast.events_since is 'Of each clinic the events after a position, in order, at most so many each';

create or replace function holdfast.in_force(digests text[]) returns setof text
language sql stable security definer set search_path = holdfast, pg_temp as $$
    with asked as (select decode(d, 'hex') as digest from unnest(digests) d),
        good as (select * from tokens t where t.revoked_at is null and (t.expires_at is null or t.expires_at > now()))
    select encode(g.digest, 'hex') from good g join asked using (digest)
    union all select encode(s.digest, 'hex') from sessions s join asked using (digest)
        join good g on (g.clinic_id, g.id) = (s.clinic_id, s.token_id)
        where s.expires_at > now() and s.used_at > now() - interval '1 hour'
$$;
comment on function holdfast.in_force is 'Which of these tokens and sessions would be let in now: SHA-256, hexadecimal';

create or replace function holdfast.trim_events(days integer) returns bigint
language plpgsql security definer set search_path = holdfast, pg_temp as $$
declare
    at_once constant integer := 5000;
    head event_heads;
    last bigint;
    total bigint := 0;
begin
    for head in select * from event_heads h loop
        continue when not pg_try_advisory_xact_lock(hashtextextended('events ' || head.clinic_id, 0));
        select max(e.position) into last from (select * from events o where o.clinic_id = head.clinic_id
            order by o.position limit at_once) e where e.at < now() - days * interval '1 day';
        continue when last is null;
        delete from events e where e.clinic_id = head.clinic_id and e.position <= last;
        delete from deliveries d where d.clinic_id = head.clinic_id and d.position <= last and d.state <> 'waiting';
        update event_heads h set trimmed = last where h.clinic_id = head.clinic_id;
        total := total + last - head.trimmed;
    end loop;
    return total;
end $$;
comment on function holdfast.trim_events is 'Removes events older than so many days, at most 5000 of each clinic; answers how many';
