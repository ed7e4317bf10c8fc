-- What a digest of the audit is made of. The verifier of the program builds the same text on its own.
-- Without a search_path of its own, so that it becomes part of the statement that uses it.
create or replace function holdfast.audit_text(a holdfast.audit) returns text
language sql stable as $$
    select concat_ws(E'\n', a.clinic_id, a.seq, a.id, to_char(a.at at time zone 'utc', 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"'),
        a.token, a.role, a.action, a.resource, array_to_string(a.records, ','), array_to_string(a.patients, ','),
        a.request, a.outcome)
$$;
alter function holdfast.audit_text(holdfast.audit) reset all;
comment on function holdfast.audit_text is 'The row as the text that its digest covers: one line a column';

-- The digest that a row gets: over that of the row before it, the first one over the head's.
create or replace function holdfast.chained(before bytea, line text, head bytea) returns bytea
language plpgsql immutable set search_path = holdfast, pg_temp as $$
begin
    return sha256(coalesce(before, head) || convert_to(line, 'UTF8'));
end $$;
alter function holdfast.chained(bytea, text, bytea) reset all;
comment on function holdfast.chained is 'Step of chain()';
create or replace aggregate holdfast.chain(text, bytea) (sfunc = holdfast.chained, stype = bytea);
comment on aggregate holdfast.chain(text, bytea) is 'Digests of texts in their order, each over the one before; the second argument stands before the first';

-- A clinic whose chain another connection is sealing is left to that one.
create or replace function holdfast.seal_audit() returns bigint
language plpgsql security definer set search_path = holdfast, pg_temp set plan_cache_mode = force_generic_plan as $$
declare
    at_once constant integer := 2000;
    clinic uuid;
    head audit_heads;
    sealed bigint;
    total bigint := 0;
begin
    for clinic in select distinct u.clinic_id from audit_unsealed u loop
        continue when not pg_try_advisory_xact_lock(hashtextextended('audit ' || clinic, 0));
        select * into head from audit_heads h where h.clinic_id = clinic;
        if not found then
            head := row(clinic, 0, decode(repeat('00', 32), 'hex'));
        end if;
        with taken as (
            delete from audit_unsealed where ctid = any (array(
                select u.ctid from audit_unsealed u where u.clinic_id = clinic order by u.at limit at_once))
            returning *),
        numbered as (
            select row(t.clinic_id, head.seq + row_number() over (order by t.at), gen_random_uuid(), t.at, t.token, t.role,
                t.action, t.resource, t.records, t.patients, t.request, t.outcome, null)::audit as a from taken t),
        sealed as (
            insert into audit select (n.a).clinic_id, (n.a).seq, (n.a).id, (n.a).at, (n.a).token, (n.a).role, (n.a).action,
                (n.a).resource, (n.a).records, (n.a).patients, (n.a).request, (n.a).outcome,
                chain(audit_text(n.a), head.digest) over (order by (n.a).seq) from numbered n
            returning seq, digest)
        select s.seq, s.digest, s.seq - head.seq into head.seq, head.digest, sealed from sealed s order by s.seq desc limit 1;
        continue when not found;
        insert into audit_heads select head.*
            on conflict (clinic_id) do update set seq = excluded.seq, digest = excluded.digest;
        total := total + sealed;
    end loop;
    return total;
end $$;
comment on function holdfast.seal_audit is 'Moves waiting rows of all clinics into their chains, at most 2000 each; answers how many';

-- In force or not: who it was stays known.
create or replace function holdfast.token_digest(asked bytea) returns bytea
language sql stable set search_path = holdfast, pg_temp as $$
    select coalesce((select t.digest from sessions s join tokens t on t.clinic_id = s.clinic_id and t.id = s.token_id
        where s.digest = asked), asked)
$$;
comment on function holdfast.token_digest is 'The digest of the token behind a session''s; any other is returned as it is';

-- What reads told, a place in each array per read. Who read is looked up here: the runtime role cannot leave rows of
-- others than it has the tokens of. No call of token_digest(): it would run once a row and token.
create or replace function holdfast.audit_reads(digests text[], actions text[], paths text[], record_ids text[],
    patient_ids text[], requests text[], outcomes text[]) returns bigint
language plpgsql security definer set search_path = holdfast, pg_temp set plan_cache_mode = force_generic_plan as $$
declare
    kept bigint;
begin
    insert into audit_unsealed (clinic_id, token, role, action, resource, records, patients, request, outcome)
        select who.clinic_id, who.id, who.role, r.action, r.path, r.records::uuid[], r.patients::uuid[], r.request, r.outcome
        from unnest(digests, actions, paths, record_ids, patient_ids, requests, outcomes)
            r (digest, action, path, records, patients, request, outcome)
        cross join lateral (
            select t.clinic_id, t.id, t.role from tokens t where t.digest = decode(r.digest, 'hex')
            union all select t.clinic_id, t.id, t.role from sessions s join tokens t on t.clinic_id = s.clinic_id
                and t.id = s.token_id where s.digest = decode(r.digest, 'hex')) who;
    get diagnostics kept = row_count;
    return kept;
end $$;
comment on function holdfast.audit_reads is 'Leaves the traces of reads, in one transaction; answers how many it left';

-- For refusals alone: a row that is there is traced by what reads it.
create or replace function holdfast.patient_of(resource text, record uuid) returns uuid
language sql stable set search_path = holdfast, pg_temp as $$
    select case split_part(resource, '/', 3)
        when 'patients' then (select p.id from patients p where p.id = record)
        when 'cases' then (select c.patient_id from cases c where c.id = record)
        when 'screws' then (select s.patient_id from screws s where s.id = record)
        when 'setups' then (select c.patient_id from setups s join cases c on c.id = s.case_id where s.id = record)
        when 'visits' then (select c.patient_id from visits v join cases c on c.id = v.case_id where v.id = record)
    end
$$;
comment on function holdfast.patient_of is 'Whom a record is about, inside the transaction''s clinic; NULL when it is not there';

create or replace function holdfast.audit_refusal(token_digest bytea, action text, resource text, record uuid, request text,
    outcome text) returns void
language plpgsql security definer set search_path = holdfast, pg_temp as $$
declare
    who tokens;
    patient uuid;
begin
    select * into who from tokens t where t.digest = token_digest(token_digest);
    if not found then
        return;
    end if;
    perform set_config('app.clinic', who.clinic_id::text, true);
    patient := patient_of(resource, record);
    insert into audit_unsealed (clinic_id, token, role, action, resource, records, patients, request, outcome)
        values (who.clinic_id, who.id, who.role, action, resource, array_remove(array[record], null),
            array_remove(array[patient], null), request, outcome);
end $$;
comment on function holdfast.audit_refusal is 'Leaves the trace of a refused request whose token, in force or not, is known';

-- With the owner's rights: where row security guards the rows, the index of what an array contains may not be asked.
create or replace function holdfast.audited(patient uuid) returns setof bigint
language sql stable security definer set search_path = holdfast, pg_temp as $$
    select a.seq from audit a where a.patients @> array[patient]
        and a.clinic_id = (select nullif(current_setting('app.clinic', true), '')::uuid)
$$;
comment on function holdfast.audited is 'Rows of the clinic''s audit that are about a patient';

drop view if exists holdfast.audit_trail;
create view holdfast.audit_trail with (security_invoker = true) as
    select a.id, a.seq, a.at, a.token as token_id, a.role, a.action, a.resource, to_jsonb(a.records) as record_ids,
        case when cardinality(a.patients) = 1 then a.patients[1] end as patient_id, to_jsonb(a.patients) as patient_ids,
        a.request as request_id, a.outcome, encode(a.digest, 'hex') as digest
    from holdfast.audit a;
comment on view holdfast.audit_trail is 'The audit as the service tells it';
