-- Called where events get their positions: an event is put in line for its addresses once, or not at all.
create or replace function holdfast.line_up(clinic uuid, after bigint) returns void
language sql set search_path = holdfast, pg_temp as $$
    insert into deliveries (clinic_id, id, webhook_id, position, type, body)
        select e.clinic_id, gen_random_uuid(), w.id, e.position, e.type, json_build_object('type', e.type,
            'timestamp', to_char(e.at at time zone 'utc', 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"'), 'data', json_build_object(
            'position', e.position, 'resource', e.resource, 'id', e.id, 'version', e.version))::text
        from webhooks w join events e on e.clinic_id = w.clinic_id
        where w.clinic_id = clinic and w.active and e.position > after
        and (w.types is null or e.type = any (string_to_array(w.types, ',')))
$$;
comment on function holdfast.line_up is 'Puts a clinic''s events after a position in line for the addresses that want them';

-- A claim that is not followed by record_delivery() within the minute is void. Of one address four at a time, so that a
-- dead one does not hold up the others.
drop function if exists holdfast.claim_deliveries(integer);
-- Asked several times a second: by the index of those that wait, whatever the statistics still say of an earlier time.
create function holdfast.claim_deliveries(at_most integer)
    returns table (clinic_id uuid, id uuid, url text, secret text, old_secret text, body text)
language sql security definer set search_path = holdfast, pg_temp set enable_seqscan = off as $$
    with due as (
        select w.url, w.secret, case when w.old_until > now() then w.old_secret end as old_secret, d.clinic_id, d.id
        from webhooks w cross join lateral (select o.clinic_id, o.id from deliveries o where o.clinic_id = w.clinic_id
            and o.webhook_id = w.id and o.state = 'waiting' and o.next_at <= now()
            and (o.claimed_until is null or o.claimed_until < now()) order by o.next_at
            limit 4 - (select least(4, count(*)) from deliveries c where c.clinic_id = w.clinic_id and c.webhook_id = w.id
                and c.state = 'waiting' and c.claimed_until > now())
            for update skip locked) d
        where w.active limit at_most)
    update deliveries t set claimed_until = now() + interval '1 minute', attempts = t.attempts + 1
        from due where (t.clinic_id, t.id) = (due.clinic_id, due.id)
        returning t.clinic_id, t.id, due.url, due.secret, due.old_secret, t.body
$$;
comment on function holdfast.claim_deliveries is 'Deliveries that are due, for one who will try them now';

create or replace function holdfast.record_delivery(clinic uuid, delivery uuid, answer integer, failure text, took_ms integer) returns void
language plpgsql security definer set search_path = holdfast, pg_temp as $$
declare
    pauses constant interval[] := array['5 s', '1 min', '5 min', '30 min', '2 h', '6 h', '24 h'];
    good constant boolean := coalesce(answer between 200 and 299, false);
    gone constant boolean := coalesce(answer = 410, false);
begin
    -- attempts was counted by the claim. 410 Gone: the receiver wants no more of them.
    update deliveries d set claimed_until = null, status = answer, error = failure,
        state = case when good then 'delivered' when gone or d.attempts > cardinality(pauses) then 'given-up' else 'waiting' end,
        next_at = case when not good and not gone then now() + pauses[d.attempts] end,
        log = right(coalesce(d.log, '') || to_char(now() at time zone 'utc', 'YYYY-MM-DD"T"HH24:MI:SS"Z"') || ' '
            || coalesce(answer::text, failure) || ' ' || took_ms || E' ms\n', 2000)
        where d.clinic_id = clinic and d.id = delivery;
    update webhooks w set active = false from deliveries d where gone and d.clinic_id = clinic and d.id = delivery
        and w.clinic_id = clinic and w.id = d.webhook_id and w.active;
end $$;
comment on function holdfast.record_delivery is 'Notes how an attempt ended, and when the next one is due';

create or replace function holdfast.deliver_again(delivery uuid) returns uuid
language sql security definer set search_path = holdfast, pg_temp as $$
    update deliveries set state = 'waiting', attempts = 0, next_at = now()
        where clinic_id = nullif(current_setting('app.clinic', true), '')::uuid and id = delivery returning id
$$;
comment on function holdfast.deliver_again is 'Puts a delivery of the transaction''s clinic in line anew; NULL when there is none';

create or replace function holdfast.rotate_secret(webhook uuid, fresh text) returns uuid
language sql security definer set search_path = holdfast, pg_temp as $$
    update webhooks set old_secret = secret, old_until = now() + interval '1 day', secret = fresh
        where clinic_id = nullif(current_setting('app.clinic', true), '')::uuid and id = webhook returning id
$$;
comment on function holdfast.rotate_secret is 'Gives an address of the transaction''s clinic a new secret; the one before signs beside it for a day';
