-- The mechanics document that a stored visit amounts to, at the day of the visit or another. Member names are the
-- document's; what is not known vanishes. plpgsql only because it keeps its plan.
create or replace function holdfast.visit_document(visit uuid, on_date date) returns json
language plpgsql stable set search_path = holdfast, pg_temp set plan_cache_mode = force_generic_plan as $$
begin
    return (
    with day as (
        select v.clinic_id, v.id, v.case_id, coalesce(on_date, v.visited_on) as on_day, v.elements, v.screw_checks,
            v.next_interval_days, least(coalesce(on_date, v.visited_on), current_date) as known_until
        from visits v where v.id = visit
    ), in_place as (
        select s.*
        from day d join screws s on s.clinic_id = d.clinic_id and s.case_id = d.case_id
        where s.placed_on <= d.on_day and not (s.state in ('lost', 'removed') and s.state_on <= d.on_day)
    ), plates as (
        select k.position, u.name, u.purpose, v.material, v.nodes, v.bars, v.fittings,
            -- A screw that is gone, or not there yet, holds nothing.
            coalesce((select jsonb_agg(seat order by place)
                from jsonb_array_elements(v.seats) with ordinality as e (seat, place)
                where exists (select from in_place i where i.name = seat ->> 'screw')), '[]') as seats
        from day d
        join visit_setups k on k.clinic_id = d.clinic_id and k.visit_id = d.id
        join setups u on u.clinic_id = k.clinic_id and u.id = k.setup_id
        join setup_versions v on v.clinic_id = k.clinic_id and v.setup_id = k.setup_id and v.version = k.setup_version
    ), seated as (
        select i.*, m.diameter_mm, m.core_mm, m.length_mm, m.thread_pitch_mm, m.modulus_mpa, m.poisson,
            seen.mobility_grade, seen.inflammation_grade, seen.percussion_score, seen.resonance_score,
            -- The first reading; one of after the first week is none of placement, the score falls early.
            (select (c ->> 'resonance_score')::double precision
                from day d join visits v on v.clinic_id = d.clinic_id and v.case_id = d.case_id
                    and v.visited_on between i.placed_on and least(i.placed_on + 7, d.on_day),
                    jsonb_array_elements(v.screw_checks) as c
                where c ->> 'screw' = i.name and c ? 'resonance_score'
                order by v.visited_on limit 1) as resonance_at_placement
        from in_place i
        join screw_models m on m.clinic_id = i.clinic_id and m.id = i.screw_model_id
        left join lateral (
            select c.mobility_grade, c.inflammation_grade, c.percussion_score, c.resonance_score
            from day d, jsonb_to_recordset(d.screw_checks) as c (screw text, mobility_grade integer,
                inflammation_grade integer, percussion_score double precision, resonance_score double precision)
            where c.screw = i.name limit 1) seen on true
        where exists (select from plates p, jsonb_array_elements(p.seats) as seat where seat ->> 'screw' = i.name)
    ), own as (
        -- The clinic's screws at these sites in other cases (this one's are what is asked about); of fewer than 5
        -- nothing is said. A screw not lost counts the share of a treatment's danger that it has stood: as
        -- hf_survival_own() with the rows loss-span and loss-shape of the evidence.
        select f.site, count(*) as placed, count(*) filter (where f.lost) as lost,
            sum(case when f.lost then 1 else least(power(f.days / 365.0, 0.265), 1) end) as treatments
        from (select s.site, s.state = 'lost' and s.state_on <= d.known_until as lost,
                case when s.state in ('lost', 'removed') then least(s.state_on, d.known_until) else d.known_until end
                    - s.placed_on as days
            from day d join screws s on s.clinic_id = d.clinic_id and s.case_id <> d.case_id
            where s.placed_on <= d.known_until and s.site in (select e.site from seated e)) f
        group by f.site having count(*) >= 5
    )
    select json_strip_nulls(json_build_object(
        'frame', 'occlusal-lps',
        'on', d.on_day,
        'arches', c.arches,
        'teeth', c.teeth,
        'segments', c.segments,
        -- Published figures are the model's own. A clinic's own figure of loss may be made of the same screws: it stands
        -- for itself.
        'sites', (select json_agg(json_build_object(
                'key', k.key,
                'jaw', t.jaw,
                'loss', case when t.loss_mid is not null
                    then json_build_object('low', t.loss_low, 'mid', t.loss_mid, 'high', t.loss_high) end,
                'cortex_mm', t.cortex_mm,
                'cancellous_modulus_mpa', t.cancellous_modulus_mpa,
                'torque_low_ncm', t.torque_low_ncm,
                'torque_high_ncm', t.torque_high_ncm,
                'source', t.source,
                'own_placed', o.placed,
                'own_lost', o.lost,
                'own_treatments', round(o.treatments::numeric, 6)) order by k.key)
            from sites k
            left join sites t on t.clinic_id = k.clinic_id and t.key = k.key and not t.published
            left join own o on o.site = k.key and t.loss_mid is null
            where k.clinic_id = d.clinic_id and exists (select from seated s where s.site = k.key)
                and (t.key is not null or o.site is not null)),
        'screws', (select json_agg(json_build_object(
                'name', s.name,
                'site', s.site,
                'entry_mm', s.entry,
                'axis', s.axis,
                'tilt_deg', s.tilt_deg,
                'diameter_mm', s.diameter_mm,
                'core_mm', s.core_mm,
                'length_mm', s.length_mm,
                'thread_pitch_mm', s.thread_pitch_mm,
                'modulus_mpa', s.modulus_mpa,
                'poisson', s.poisson,
                'tissue_mm', s.tissue_mm,
                'stand_off_mm', s.stand_off_mm,
                'cortex_mm', s.cortex_mm,
                'cortex_modulus_mpa', s.cortex_modulus_mpa,
                'cancellous_modulus_mpa', s.cancellous_modulus_mpa,
                'placed_on', s.placed_on,
                'placed_by', case when s.placed_by_count is not null
                    then json_build_object('screws_placed_before', s.placed_by_count) end,
                'predrilled', s.predrilled,
                'insertion_torque_ncm', s.insertion_torque_ncm,
                'root_distance_mm', s.root_distance_mm,
                'mucosa', s.mucosa,
                'mobility_grade', s.mobility_grade,
                'inflammation_grade', s.inflammation_grade,
                'percussion_score', s.percussion_score,
                'resonance_score', s.resonance_score,
                'resonance_at_placement', s.resonance_at_placement) order by s.name)
            from seated s),
        'plates', (select json_agg(json_build_object(
                'name', p.name,
                'purpose', p.purpose,
                'material', p.material,
                'nodes', p.nodes,
                'bars', p.bars,
                'seats', p.seats,
                'fittings', p.fittings) order by p.position)
            from plates p),
        'elements', d.elements,
        'patient', json_build_object(
            -- On a day that is none of the patient's life there is no age to tell.
            'age_years', (select age from round((d.on_day - p.birth_date) / 365.2425, 1) as age where age between 0 and 120),
            'cigarettes_per_day', p.cigarettes_per_day),
        'horizon_days', d.next_interval_days))
    from day d
    join cases c on c.clinic_id = d.clinic_id and c.id = d.case_id
    join patients p on p.clinic_id = c.clinic_id and p.id = c.patient_id);
end $$;
comment on function holdfast.visit_document is
    'The mechanics document of a visit at a day (NULL: the day of the visit); NULL when the clinic has no such visit';
