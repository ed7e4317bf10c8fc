-- The space of a missing lower second premolar is closed from behind. On the way one screw of the plate comes loose, first
-- hardly to be felt, then inflamed; it is exchanged and the plate with it.

insert into holdfast.patients (id, chart_number, given_name, family_name, birth_date, sex, cigarettes_per_day, note) values
    ('019c0000-0003-7000-8000-000000000010', 'DEMO-003', 'Invented', 'Patient Three', '1984-11-30', 'male', 6, 'Invented for the demo.')
on conflict do nothing;

insert into holdfast.cases (id, patient_id, title, clinician, opened_on, segments, goals, stages, note) values
    ('019c0000-0003-7000-8000-000000000020', '019c0000-0003-7000-8000-000000000010',
    'Space of the missing 35 closed from behind', 'Invented Clinician', '2026-01-12',
    '[{"name": "lower left molars", "teeth": ["36", "37"], "joined": "rigid"}]',
    '[{"segment": "lower left molars", "mesial_mm": 5.5}]',
    '[{"name": "molars forward", "planned_from": "2026-02-16", "planned_to": "2027-02-15"}, {"name": "finishing"}]',
    'A 9 mm arm on the tube of 36 brings the force down to the middle of the roots. A stiff wire joins the molars.')
on conflict do nothing;

insert into holdfast.screws (id, patient_id, case_id, name, site, screw_model_id, lot, expires_on, udi, entry, axis, tissue_mm,
    stand_off_mm, root_distance_mm, mucosa, predrilled, placed_on, placed_by_count, insertion_torque_ncm, state, state_on, state_reason)
select id::uuid, '019c0000-0003-7000-8000-000000000010', '019c0000-0003-7000-8000-000000000020', name, site,
    '019c0000-0000-7000-8000-000000000063', 'DEMO-LOT-2', '2028-06-30', '01000000000000001728063010DEMO-LOT-2', entry::jsonb,
    '"perpendicular"', 1.0, 1.0, root_distance_mm, 'attached', false, placed_on::date, 95, torque_ncm, state, state_on::date, reason
from (values
    ('019c0000-0003-7000-8000-000000000031', 'upper', 'mandible-buccal-3-4', '{"vestibule": {"between": ["33", "34"], "apical_mm": 5}}',
        1.0, '2026-01-19', 7, 'removed', '2026-06-15', 'Loose and inflamed, mobility grade 2.'),
    ('019c0000-0003-7000-8000-000000000032', 'lower', 'mandible-buccal-3-4', '{"vestibule": {"between": ["33", "34"], "apical_mm": 12}}',
        1.5, '2026-01-19', 10, 'in-place', null, null),
    ('019c0000-0003-7000-8000-000000000033', 'front', 'mandible-buccal-2-3', '{"vestibule": {"between": ["32", "33"], "apical_mm": 7}}',
        1.1, '2026-06-15', 10, 'in-place', null, null)
) as s (id, name, site, entry, root_distance_mm, placed_on, torque_ncm, state, state_on, reason)
on conflict do nothing;

insert into holdfast.setups (id, case_id, name, purpose) values
    ('019c0000-0003-7000-8000-000000000041', '019c0000-0003-7000-8000-000000000020', 'lower left plate', 'lower left molars forward')
on conflict do nothing;
insert into holdfast.setup_versions (setup_id, worn_from, pattern_id, material, nodes, bars, seats, fittings)
select s.id, '2026-02-02', p.id, p.material, p.nodes, p.bars, p.seats, p.fittings
from holdfast.setups s, holdfast.plate_patterns p
where s.id = '019c0000-0003-7000-8000-000000000041' and p.id = '019c0000-0000-7000-8000-000000000073'
    and not exists (select from holdfast.setup_versions v where v.setup_id = s.id);
insert into holdfast.setup_versions (setup_id, worn_from, material, nodes, bars, seats, fittings)
select s.id, '2026-06-15', '"titanium-grade-4"',
    '[
        {"name": "front seat", "at_mm": {"vestibule": {"between": ["32", "33"], "apical_mm": 7, "clear_mm": 2}}, "tissue_gap_mm": 1.0},
        {"name": "lower seat", "at_mm": {"vestibule": {"between": ["33", "34"], "apical_mm": 12, "clear_mm": 2}}, "tissue_gap_mm": 1.0},
        {"name": "hook", "at_mm": {"vestibule": {"between": ["33", "34"], "apical_mm": 2, "clear_mm": 2.5}}, "tissue_gap_mm": 1.5}
    ]',
    '[
        {"from": "front seat", "to": "lower seat", "section": {"rectangle_mm": [2.5, 1.0]}},
        {"from": "front seat", "to": "hook", "section": {"rectangle_mm": [2.0, 1.0]}}
    ]',
    '[{"node": "front seat", "screw": "front"}, {"node": "lower seat", "screw": "lower"}]',
    '[{"node": "hook", "kind": "hook"}]'
from holdfast.setups s
where s.id = '019c0000-0003-7000-8000-000000000041'
    and not exists (select from holdfast.setup_versions v where v.setup_id = s.id and v.version > 1);

-- One coil of `gf`; none: taken off.
insert into holdfast.visits (id, case_id, visited_on, worn, elements, screw_checks, measures, actions, next_interval_days, note)
select id::uuid, '019c0000-0003-7000-8000-000000000020', day::date, '[{"setup_id": "019c0000-0003-7000-8000-000000000041"}]',
    case when gf is null then '[]' else jsonb_build_array('{"name": "coil to 36", "kind": "closed-coil", "from": {"fitting": "hook"},
        "to": {"tooth": "36", "at": "buccal-tube", "offset_mm": [0, 0, -9]}}'::jsonb
        || jsonb_build_object('activated_on', day, 'force_n', jsonb_build_object('value', gf, 'unit', 'gf'))) end,
    screw_checks::jsonb, measures::jsonb, actions::jsonb, next_days, note
from (values
    ('019c0000-0003-7000-8000-000000000051', '2026-02-16', 150,
        '[{"screw": "upper", "mobility_grade": 0, "inflammation_grade": 0}, {"screw": "lower", "mobility_grade": 0, "inflammation_grade": 0}]',
        '{"space_left_mm": 5.5}', '[{"action": "activated", "of": "coil to 36"}]', 28, null),
    ('019c0000-0003-7000-8000-000000000052', '2026-03-16', 150,
        '[{"screw": "upper", "mobility_grade": 0, "inflammation_grade": 0}, {"screw": "lower", "mobility_grade": 0, "inflammation_grade": 0}]',
        '{"space_left_mm": 5.3, "segments": [{"segment": "lower left molars", "mesial_mm": 0.2}]}',
        '[{"action": "reactivated", "of": "coil to 36"}]', 35, null),
    ('019c0000-0003-7000-8000-000000000053', '2026-04-20', 150,
        '[{"screw": "upper", "mobility_grade": 0, "inflammation_grade": 0}, {"screw": "lower", "mobility_grade": 0, "inflammation_grade": 0}]',
        '{"space_left_mm": 4.8, "forces": [{"element": "coil to 36", "force_n": 1.3}],
          "segments": [{"segment": "lower left molars", "mesial_mm": 0.7}]}',
        '[{"action": "reactivated", "of": "coil to 36"}]', 28, null),
    ('019c0000-0003-7000-8000-000000000054', '2026-05-18', 75,
        '[{"screw": "upper", "mobility_grade": 1, "inflammation_grade": 1}, {"screw": "lower", "mobility_grade": 0, "inflammation_grade": 0}]',
        '{"space_left_mm": 4.4, "segments": [{"segment": "lower left molars", "mesial_mm": 1.1}]}',
        '[{"action": "exchanged", "of": "coil to 36", "note": "half the force"},
          {"action": "instructed", "of": "upper", "note": "rinse, soft brush"}]', 14,
        'Upper screw moves a little between the tweezers. To be seen again in two weeks.'),
    ('019c0000-0003-7000-8000-000000000055', '2026-06-01', null,
        '[{"screw": "upper", "mobility_grade": 2, "inflammation_grade": 2}, {"screw": "lower", "mobility_grade": 0, "inflammation_grade": 0}]',
        '{"space_left_mm": 4.3}', '[{"action": "removed", "of": "coil to 36"}]', 14,
        'Upper screw loose and tender. No force until it is exchanged.'),
    ('019c0000-0003-7000-8000-000000000056', '2026-06-15', null,
        '[{"screw": "front", "mobility_grade": 0, "inflammation_grade": 0}, {"screw": "lower", "mobility_grade": 0, "inflammation_grade": 0}]',
        '{"space_left_mm": 4.3}', '[{"action": "removed", "of": "upper"}, {"action": "placed", "of": "front"},
          {"action": "exchanged", "of": "lower left plate"}]', 28,
        'Upper screw out; a new one in front of the canine''s root, the plate exchanged. The lower screw stays.'),
    ('019c0000-0003-7000-8000-000000000057', '2026-07-13', 100,
        '[{"screw": "front", "mobility_grade": 0, "inflammation_grade": 0}, {"screw": "lower", "mobility_grade": 0, "inflammation_grade": 0}]',
        '{"space_left_mm": 4.4, "segments": [{"segment": "lower left molars", "mesial_mm": 1.1}]}',
        '[{"action": "activated", "of": "coil to 36"}]', 42, null),
    ('019c0000-0003-7000-8000-000000000058', '2026-08-24', 150,
        '[{"screw": "front", "mobility_grade": 0, "inflammation_grade": 0}, {"screw": "lower", "mobility_grade": 0, "inflammation_grade": 0}]',
        '{"space_left_mm": 3.9, "segments": [{"segment": "lower left molars", "mesial_mm": 1.6}]}',
        '[{"action": "exchanged", "of": "coil to 36"}]', 42, null),
    ('019c0000-0003-7000-8000-000000000059', '2026-10-05', 150,
        '[{"screw": "front", "mobility_grade": 0, "inflammation_grade": 0}, {"screw": "lower", "mobility_grade": 0, "inflammation_grade": 0}]',
        '{"space_left_mm": 3.3, "segments": [{"segment": "lower left molars", "mesial_mm": 2.2}]}',
        '[{"action": "reactivated", "of": "coil to 36"}]', 42, null)
) as v (id, day, gf, screw_checks, measures, actions, next_days, note)
on conflict do nothing;
