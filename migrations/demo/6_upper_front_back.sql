-- Six upper front teeth go back on both sides at once from plates on the infrazygomatic crests; no back tooth is used.

insert into holdfast.patients (id, chart_number, given_name, family_name, birth_date, sex, cigarettes_per_day, note) values
    ('019c0000-0006-7000-8000-000000000010', 'DEMO-006', 'Invented', 'Patient Six', '1999-03-12', 'female', 0, 'Invented for the demo.')
on conflict do nothing;

insert into holdfast.cases (id, patient_id, title, clinician, opened_on, segments, goals, stages, note) values
    ('019c0000-0006-7000-8000-000000000020', '019c0000-0006-7000-8000-000000000010',
    'Upper front teeth drawn back from two plates', 'Invented Clinician', '2026-03-02',
    '[{"name": "upper front", "teeth": ["13", "12", "11", "21", "22", "23"], "joined": "rigid"}]',
    '[{"segment": "upper front", "buccal_mm": -5}]',
    '[{"name": "front teeth back", "planned_from": "2026-04-20", "planned_to": "2026-12-14"}]',
    'First premolars missing. The coils pull at arms of the stiff wire between lateral incisor and canine, 5 mm over its level.')
on conflict do nothing;

insert into holdfast.screws (id, patient_id, case_id, name, site, screw_model_id, lot, expires_on, udi, entry, axis, tissue_mm,
    stand_off_mm, mucosa, predrilled, placed_on, placed_by_count, insertion_torque_ncm)
select id::uuid, '019c0000-0006-7000-8000-000000000010', '019c0000-0006-7000-8000-000000000020', name, site,
    '019c0000-0000-7000-8000-000000000061', 'DEMO-LOT-1', '2029-01-31', '01000000000000001729013110DEMO-LOT-1', entry::jsonb,
    '"perpendicular"', 1.5, 1.5, 'movable', false, '2026-03-16', 150, torque_ncm
from (values
    ('019c0000-0006-7000-8000-000000000031', 'right low', 'infrazygomatic', '{"vestibule": {"between": ["15", "16"], "apical_mm": 8}}', 12),
    ('019c0000-0006-7000-8000-000000000032', 'right high', 'infrazygomatic', '{"vestibule": {"between": ["15", "16"], "apical_mm": 15}}', 13),
    ('019c0000-0006-7000-8000-000000000033', 'left low', 'infrazygomatic', '{"vestibule": {"between": ["25", "26"], "apical_mm": 8}}', 12),
    ('019c0000-0006-7000-8000-000000000034', 'left high', 'infrazygomatic', '{"vestibule": {"between": ["25", "26"], "apical_mm": 15}}', 13)
) as s (id, name, site, entry, torque_ncm)
on conflict do nothing;

insert into holdfast.setups (id, case_id, name, purpose) values
    ('019c0000-0006-7000-8000-000000000041', '019c0000-0006-7000-8000-000000000020', 'right plate', 'upper front teeth back'),
    ('019c0000-0006-7000-8000-000000000042', '019c0000-0006-7000-8000-000000000020', 'left plate', 'upper front teeth back')
on conflict do nothing;
insert into holdfast.setup_versions (setup_id, worn_from, material, nodes, bars, seats, fittings)
select s.id, '2026-04-20', '"titanium-grade-4"', replace(replace(v.nodes, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.bars, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.seats, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.fittings, '<side>', side), '<q>', q)::jsonb
from (values
    ('019c0000-0006-7000-8000-000000000041', 'right', '1'),
    ('019c0000-0006-7000-8000-000000000042', 'left', '2')
) as side (id, side, q)
join holdfast.setups s on s.id = side.id::uuid
cross join (values (
    '[
        {"name": "<side> low seat", "at_mm": {"vestibule": {"between": ["<q>5", "<q>6"], "apical_mm": 8, "clear_mm": 3}}, "tissue_gap_mm": 1.0},
        {"name": "<side> high seat", "at_mm": {"vestibule": {"between": ["<q>5", "<q>6"], "apical_mm": 15, "clear_mm": 3}}, "tissue_gap_mm": 1.0},
        {"name": "<side> hook", "at_mm": {"near": "<q>5", "mesial_mm": 0, "buccal_mm": 7, "occlusal_mm": -8}, "tissue_gap_mm": 1.5}
    ]',
    '[
        {"from": "<side> low seat", "to": "<side> high seat", "section": {"rectangle_mm": [3.0, 1.2]}},
        {"from": "<side> low seat", "to": "<side> hook", "section": {"rectangle_mm": [2.5, 1.2]}}
    ]',
    '[{"node": "<side> low seat", "screw": "<side> low"}, {"node": "<side> high seat", "screw": "<side> high"}]',
    '[{"node": "<side> hook", "kind": "hook"}]'
)) as v (nodes, bars, seats, fittings)
where not exists (select from holdfast.setup_versions o where o.setup_id = s.id);

-- Superelastic coils, `gf` on each.
with elements as (
    select * from jsonb_array_elements('[
        {"name": "right coil", "kind": "closed-coil", "from": {"fitting": "right hook"},
            "to": {"segment": "upper front", "at_mm": {"near": "13", "mesial_mm": 4, "buccal_mm": 5, "occlusal_mm": -5}}},
        {"name": "left coil", "kind": "closed-coil", "from": {"fitting": "left hook"},
            "to": {"segment": "upper front", "at_mm": {"near": "23", "mesial_mm": 4, "buccal_mm": 5, "occlusal_mm": -5}}}
    ]') with ordinality as e (element, place)
)
insert into holdfast.visits (id, case_id, visited_on, worn, elements, screw_checks, measures, actions, next_interval_days, note)
select id::uuid, '019c0000-0006-7000-8000-000000000020', day::date,
    '[{"setup_id": "019c0000-0006-7000-8000-000000000041"}, {"setup_id": "019c0000-0006-7000-8000-000000000042"}]',
    (select jsonb_agg(element || jsonb_build_object('activated_on', day, 'force_n', jsonb_build_object('value', gf, 'unit', 'gf')) order by place) from elements),
    (select jsonb_agg(jsonb_build_object('screw', s.name, 'mobility_grade', 0, 'inflammation_grade', 0) order by s.id)
        from holdfast.screws s where s.case_id = '019c0000-0006-7000-8000-000000000020'),
    measures::jsonb, actions::jsonb, next_days, note
from (values
    ('019c0000-0006-7000-8000-000000000051', '2026-04-20', 100, '{"overjet_mm": 7.5, "overbite_mm": 3.5}',
        '[{"action": "placed", "of": "right plate"}, {"action": "placed", "of": "left plate"},
          {"action": "activated", "note": "both coils, gently"}]', 42, null),
    ('019c0000-0006-7000-8000-000000000052', '2026-06-01', 150, '{"overjet_mm": 6.8, "overbite_mm": 3.5, "segments": [{"segment": "upper front", "buccal_mm": -0.7, "torque_deg": -2}]}',
        '[{"action": "reactivated", "note": "full force"}]', 42, null),
    ('019c0000-0006-7000-8000-000000000053', '2026-07-13', 150, '{"overjet_mm": 5.7, "overbite_mm": 3.4, "segments": [{"segment": "upper front", "buccal_mm": -1.8, "torque_deg": -4}]}',
        '[{"action": "reactivated"}]', 42, null),
    ('019c0000-0006-7000-8000-000000000054', '2026-08-24', 150, '{"overjet_mm": 4.6, "overbite_mm": 3.2, "segments": [{"segment": "upper front", "buccal_mm": -2.9, "torque_deg": -6}]}',
        '[{"action": "reactivated"}]', 42, null),
    ('019c0000-0006-7000-8000-000000000055', '2026-10-05', 150, '{"overjet_mm": 3.6, "overbite_mm": 3.0, "segments": [{"segment": "upper front", "buccal_mm": -3.9, "torque_deg": -7}]}',
        '[{"action": "reactivated"}]', 42, 'Crowns lean back: longer arms if the last millimetre needs root.')
) as v (id, day, gf, measures, actions, next_days, note)
on conflict do nothing;
