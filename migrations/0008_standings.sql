-- How each open case stands: what the worklist needs, beside the records it is made of, so that one range of one index
-- answers however many cases there are.

alter table holdfast.cases add column chair text;
comment on column holdfast.cases.chair is 'Chair or room where the case is usually seen';

create table holdfast.standings (
    clinic_id uuid not null references holdfast.clinics (id),
    case_id uuid not null,
    patient_id uuid not null,
    clinician text,
    chair text,
    visit_id uuid,
    visited_on date,
    next_on date,
    due_on date not null,
    loose_screws integer not null,
    mobile_screws integer not null,
    lost_screws integer not null,
    changes bigint not null default 1,
    judged bigint not null default 0,
    incomplete text,
    digest text,
    core_version text,
    parameters text,
    severity text check (severity in ('note', 'caution', 'stop')),
    finding text,
    loss_low double precision check (loss_low between 0 and 1),
    loss double precision check (loss between 0 and 1),
    loss_high double precision check (loss_high between 0 and 1),
    at_risk boolean generated always as (loose_screws + mobile_screws + lost_screws > 0
        or coalesce(severity = 'stop', false)) stored,
    urgency integer generated always as (due_on - date '1970-01-01' + case
        when loose_screws + mobile_screws + lost_screws > 0 or coalesce(severity = 'stop', false) then 0
        else 100000 end) stored,
    primary key (clinic_id, case_id),
    constraint standings_case_id_fkey foreign key (clinic_id, case_id, patient_id)
        references holdfast.cases (clinic_id, id, patient_id),
    constraint standings_visit_id_fkey foreign key (clinic_id, visit_id, case_id)
        references holdfast.visits (clinic_id, id, case_id)
);
create index standings_by_urgency on holdfast.standings (clinic_id, urgency, case_id);
create index standings_by_clinician on holdfast.standings (clinic_id, clinician, urgency, case_id);
create index standings_by_chair on holdfast.standings (clinic_id, chair, urgency, case_id);
create index standings_by_next on holdfast.standings (clinic_id, next_on, urgency, case_id);
create index standings_to_judge on holdfast.standings (clinic_id) where judged <> changes;
comment on table holdfast.standings is 'Open cases as they stand, kept by triggers; the figures of the last visit follow within seconds';
comment on column holdfast.standings.case_id is 'Course of treatment';
comment on column holdfast.standings.patient_id is 'Whose treatment it is';
comment on column holdfast.standings.clinician is 'Who leads it';
comment on column holdfast.standings.chair is 'Chair or room';
comment on column holdfast.standings.visit_id is 'Last visit; NULL = none yet';
comment on column holdfast.standings.visited_on is 'Its day';
comment on column holdfast.standings.next_on is 'Day of the next visit as planned; NULL = not planned';
comment on column holdfast.standings.due_on is 'The same; not planned: day since when nobody has planned it';
comment on column holdfast.standings.loose_screws is 'Screws whose state is loose';
comment on column holdfast.standings.mobile_screws is 'Screws that were felt to move at the last visit';
comment on column holdfast.standings.lost_screws is 'Screws lost since the last visit';
comment on column holdfast.standings.changes is 'Counts the changes of what is judged';
comment on column holdfast.standings.judged is 'The change up to which it has been judged';
comment on column holdfast.standings.incomplete is 'What the record lacks for a judgement; NULL = nothing';
comment on column holdfast.standings.digest is 'Digest of the mechanics document that was judged';
comment on column holdfast.standings.core_version is 'Version of the computation';
comment on column holdfast.standings.parameters is 'Version of its constants';
comment on column holdfast.standings.severity is 'Worst finding of the last visit';
comment on column holdfast.standings.finding is 'Its code';
comment on column holdfast.standings.loss_low is 'Share lost until the next visit of the screw most at risk, lower end, 0 to 1';
comment on column holdfast.standings.loss is 'Share lost of that screw, 0 to 1';
comment on column holdfast.standings.loss_high is 'Share lost of that screw, upper end, 0 to 1';
comment on column holdfast.standings.at_risk is 'A screw loose, mobile or lost since the last visit, or a finding that says stop';
comment on column holdfast.standings.urgency is 'Order of the worklist: days from 1970 to due_on, 100000 behind those at risk';
select holdfast.tenant_table('standings');
grant select, insert, update, delete on holdfast.standings to holdfast_app;
-- Which clinics have something to judge is asked before any clinic is entered.
create policy owner on holdfast.standings to current_user using (true) with check (true);

-- The cases are locked first: of two writers the second one counts what the first one wrote.
create function holdfast.refresh_standings(clinic uuid, cases uuid[]) returns void
language plpgsql set search_path = holdfast, pg_temp as $$
begin
    perform from cases c where c.clinic_id = clinic and c.id = any (refresh_standings.cases) order by c.id for no key update;
    insert into standings as s (clinic_id, case_id, patient_id, clinician, chair, visit_id, visited_on, next_on, due_on,
            loose_screws, mobile_screws, lost_screws)
        select c.clinic_id, c.id, c.patient_id, c.clinician, c.chair, v.id, v.visited_on,
            v.visited_on + v.next_interval_days,
            coalesce(v.visited_on + v.next_interval_days, v.visited_on, c.opened_on, (c.created_at at time zone 'utc')::date),
            w.loose, w.mobile, w.lost
        from cases c
        left join lateral (select * from visits l where l.clinic_id = c.clinic_id and l.case_id = c.id
            order by l.visited_on desc limit 1) v on true
        cross join lateral (
            select count(*) filter (where k.state = 'loose') as loose,
                count(*) filter (where k.state in ('in-place', 'loose') and exists (
                    select from jsonb_array_elements(v.screw_checks) seen
                    where seen ->> 'screw' = k.name and (seen ->> 'mobility_grade')::integer > 0)) as mobile,
                count(*) filter (where k.state = 'lost' and (v.id is null or k.state_on > v.visited_on)) as lost
            from screws k where k.clinic_id = c.clinic_id and k.case_id = c.id) w
        where c.clinic_id = clinic and c.id = any (refresh_standings.cases) and c.state = 'open'
    on conflict (clinic_id, case_id) do update set clinician = excluded.clinician, chair = excluded.chair,
        visit_id = excluded.visit_id, visited_on = excluded.visited_on, next_on = excluded.next_on,
        due_on = excluded.due_on, loose_screws = excluded.loose_screws, mobile_screws = excluded.mobile_screws,
        lost_screws = excluded.lost_screws, changes = s.changes + 1;
    delete from standings s using cases c
        where s.clinic_id = clinic and s.case_id = any (refresh_standings.cases)
        and c.clinic_id = clinic and c.id = s.case_id and c.state <> 'open';
end $$;
comment on function holdfast.refresh_standings is 'Tells anew how these cases of a clinic stand';

create function holdfast.standings_follow() returns trigger
language plpgsql set search_path = holdfast, pg_temp as $$
begin
    case tg_table_name
    when 'cases' then
        perform refresh_standings(n.clinic_id, array_agg(n.id)) from news n group by n.clinic_id;
    when 'patients' then
        perform refresh_standings(s.clinic_id, array_agg(s.case_id))
            from news n join standings s on s.clinic_id = n.clinic_id and s.patient_id = n.id group by s.clinic_id;
    when 'setup_versions' then
        perform refresh_standings(s.clinic_id, array_agg(distinct s.case_id))
            from news n join setups s on s.clinic_id = n.clinic_id and s.id = n.setup_id group by s.clinic_id;
    else
        perform refresh_standings(n.clinic_id, array_agg(distinct n.case_id)) from news n group by n.clinic_id;
    end case;
    return null;
end $$;
comment on function holdfast.standings_follow is 'After a change of what standings are made of';
create index standings_by_patient on holdfast.standings (clinic_id, patient_id);

do $$
declare
    t text;
    clinic uuid;
begin
    foreach t in array array['cases', 'visits', 'screws', 'setup_versions'] loop
        execute format('create trigger standings_new after insert on holdfast.%I referencing new table as news '
            'for each statement execute function holdfast.standings_follow()', t);
    end loop;
    foreach t in array array['cases', 'visits', 'screws', 'patients'] loop
        execute format('create trigger standings_changed after update on holdfast.%I referencing new table as news '
            'for each statement execute function holdfast.standings_follow()', t);
    end loop;
    for clinic in select id from holdfast.clinics loop
        perform set_config('app.clinic', clinic::text, true);
        perform holdfast.refresh_standings(clinic, array(select id from holdfast.cases where state = 'open'));
    end loop;
    perform set_config('app.clinic', '', true);
end $$;
