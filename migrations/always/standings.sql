-- What the daemon judges in the background: last visits of open cases whose records have changed since. It enters one
-- clinic at a time, as a request does.
-- Asked several times a second: by the index of those that wait, although the statistics may still say, after much was
-- brought in, that all wait.
create or replace function holdfast.clinics_to_judge() returns setof uuid
language sql security definer set search_path = holdfast, pg_temp set enable_seqscan = off as $$
    select s.clinic_id from standings s where s.judged <> s.changes group by s.clinic_id order by random()
$$;
comment on function holdfast.clinics_to_judge is 'Clinics that have standings to judge, in no order: none waits behind another';

create or replace function holdfast.standings_to_judge(clinic uuid, at_most integer)
    returns table (case_id uuid, changes bigint, document text)
language plpgsql set search_path = holdfast, pg_temp set enable_seqscan = off as $$
begin
    perform set_config('app.clinic', clinic::text, true);
    return query select s.case_id, s.changes, visit_document(s.visit_id, null)::text
        from standings s where s.clinic_id = clinic and s.judged <> s.changes limit at_most;
end $$;
comment on function holdfast.standings_to_judge is 'Mechanics documents that wait to be judged; NULL when there is no visit yet';

-- What was changed meanwhile waits for the next round.
create or replace function holdfast.judge_standing(clinic uuid, of_case uuid, change bigint, incomplete text, digest text,
    core_version text, parameters text, severity text, finding text, loss_low double precision, loss double precision,
    loss_high double precision) returns void
language plpgsql set search_path = holdfast, pg_temp as $$
begin
    perform set_config('app.clinic', clinic::text, true);
    update standings s set judged = change, incomplete = judge_standing.incomplete, digest = judge_standing.digest,
        core_version = judge_standing.core_version, parameters = judge_standing.parameters,
        severity = judge_standing.severity, finding = judge_standing.finding, loss_low = judge_standing.loss_low,
        loss = judge_standing.loss, loss_high = judge_standing.loss_high
        where s.clinic_id = clinic and s.case_id = of_case and s.changes = change;
end $$;
comment on function holdfast.judge_standing is 'Keeps the judgement of a change, unless another one came in between';

-- A daemon of another version begins by this.
create or replace function holdfast.judge_anew(core_version text, parameters text) returns void
language sql security definer set search_path = holdfast, pg_temp as $$
    update standings s set judged = 0 where s.judged > 0
        and (s.core_version, s.parameters) is distinct from (judge_anew.core_version, judge_anew.parameters)
$$;
comment on function holdfast.judge_anew is 'Lets every standing wait that another version has judged';

-- What the triggers on cases, visits, screws, patients, versions and sites call.
create or replace function holdfast.standings_follow() returns trigger
language plpgsql set search_path = holdfast, pg_temp as $$
begin
    case tg_table_name
    when 'cases' then
        perform refresh_standings(n.clinic_id, array_agg(n.id)) from news n group by n.clinic_id;
    when 'patients' then
        perform refresh_standings(s.clinic_id, array_agg(s.case_id))
            from news n join standings s on s.clinic_id = n.clinic_id and s.patient_id = n.id group by s.clinic_id;
    when 'sites' then
        perform refresh_standings(n.clinic_id, array_agg(distinct s.case_id))
            from news n join screws w on w.clinic_id = n.clinic_id and w.site = n.key
            join standings s on s.clinic_id = w.clinic_id and s.case_id = w.case_id group by n.clinic_id;
    when 'setup_versions' then
        perform refresh_standings(s.clinic_id, array_agg(distinct s.case_id))
            from news n join setups s on s.clinic_id = n.clinic_id and s.id = n.setup_id group by s.clinic_id;
    else
        perform refresh_standings(n.clinic_id, array_agg(distinct n.case_id)) from news n group by n.clinic_id;
    end case;
    return null;
end $$;
