-- Two more patients as the first one was on her first day, so that the worklist has something of today: the one is due
-- today, of the other a screw was felt to move last week. Their days count from the day of planting.

do $$
declare
    d record;
begin
    for d in select *, '-' || lpad(to_hex(n), 4, '0') || '-' as mark, current_date - ago - date '2026-03-02' as later
        from (values (12, 'Patient Twelve', 42, 0, 'Room 1'), (13, 'Patient Thirteen', 7, 1, 'Room 2'))
            as v (n, family_name, ago, mobility, chair)
    loop
        insert into holdfast.patients (id, chart_number, given_name, family_name, birth_date, sex, cigarettes_per_day, note)
            select replace(p.id::text, '-0001-', d.mark)::uuid, 'DEMO-0' || d.n, p.given_name, d.family_name,
                p.birth_date - 400 * (d.n - 11), p.sex, 0, p.note
            from holdfast.patients p where p.id = '019c0000-0001-7000-8000-000000000010'
        on conflict do nothing;
        insert into holdfast.cases (id, patient_id, title, clinician, chair, opened_on, arches, segments, goals)
            select replace(c.id::text, '-0001-', d.mark)::uuid, replace(c.patient_id::text, '-0001-', d.mark)::uuid, c.title,
                c.clinician, d.chair, c.opened_on + d.later, c.arches, c.segments, c.goals
            from holdfast.cases c where c.id = '019c0000-0001-7000-8000-000000000020'
        on conflict do nothing;
        insert into holdfast.screws (id, patient_id, case_id, name, site, screw_model_id, lot, expires_on, entry, axis, tissue_mm,
                stand_off_mm, mucosa, predrilled, placed_on, placed_by_count, insertion_torque_ncm)
            select replace(s.id::text, '-0001-', d.mark)::uuid, replace(s.patient_id::text, '-0001-', d.mark)::uuid,
                replace(s.case_id::text, '-0001-', d.mark)::uuid, s.name, s.site, s.screw_model_id, s.lot, s.expires_on, s.entry,
                s.axis, s.tissue_mm, s.stand_off_mm, s.mucosa, s.predrilled, s.placed_on + d.later, s.placed_by_count + d.n,
                s.insertion_torque_ncm
            from holdfast.screws s where s.case_id = '019c0000-0001-7000-8000-000000000020'
        on conflict do nothing;
        insert into holdfast.setups (id, case_id, name, purpose)
            select replace(u.id::text, '-0001-', d.mark)::uuid, replace(u.case_id::text, '-0001-', d.mark)::uuid, u.name, u.purpose
            from holdfast.setups u where u.case_id = '019c0000-0001-7000-8000-000000000020'
        on conflict do nothing;
        insert into holdfast.setup_versions (setup_id, worn_from, pattern_id, material, nodes, bars, seats, fittings)
            select u.id, date '2026-03-02' + d.later, p.id, p.material, p.nodes, p.bars, p.seats, p.fittings
            from holdfast.setups u, holdfast.plate_patterns p
            where u.id::text = '019c0000' || d.mark || '7000-8000-000000000041' and p.id = '019c0000-0000-7000-8000-000000000071'
                and not exists (select from holdfast.setup_versions v where v.setup_id = u.id);
        insert into holdfast.visits (id, case_id, visited_on, worn, elements, screw_checks, measures, actions, next_interval_days)
            select replace(v.id::text, '-0001-', d.mark)::uuid, replace(v.case_id::text, '-0001-', d.mark)::uuid,
                v.visited_on + d.later, jsonb_build_array(jsonb_build_object('setup_id',
                    '019c0000' || d.mark || '7000-8000-000000000041')),
                (select jsonb_agg(e || jsonb_build_object('activated_on', v.visited_on + d.later) order by place)
                    from jsonb_array_elements(v.elements) with ordinality l (e, place)),
                (select jsonb_agg(c || case c ->> 'screw' when 'left' then jsonb_build_object('mobility_grade', d.mobility)
                    else '{}' end) from jsonb_array_elements(v.screw_checks) c),
                v.measures, v.actions, v.next_interval_days
            from holdfast.visits v where v.id = '019c0000-0001-7000-8000-000000000051'
        on conflict do nothing;
    end loop;
end $$;
