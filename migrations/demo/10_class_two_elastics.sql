-- A growing patient whose lower jaw stands back: elastics from lower plates behind to upper plates in front, both sides.

insert into holdfast.patients (id, chart_number, given_name, family_name, birth_date, sex, cigarettes_per_day, note) values
    ('019c0000-000a-7000-8000-000000000010', 'DEMO-010', 'Invented', 'Patient Ten', '2012-11-04', 'male', 0, 'Invented for the demo.')
on conflict do nothing;

insert into holdfast.cases (id, patient_id, title, clinician, opened_on, arches, stages, note) values
    ('019c0000-000a-7000-8000-000000000020', '019c0000-000a-7000-8000-000000000010',
    'Lower jaw brought forward: Class II elastics between plates', 'Invented Clinician', '2026-03-23',
    '{"maxilla": {"width_mm": 60, "depth_mm": 44}}',
    '[{"name": "elastics between the plates", "planned_from": "2026-05-04", "planned_to": "2027-03-01"}]',
    'No tooth carries an elastic.')
on conflict do nothing;

insert into holdfast.screws (id, patient_id, case_id, name, site, screw_model_id, lot, expires_on, udi, entry, axis, tissue_mm,
    stand_off_mm, root_distance_mm, mucosa, predrilled, placed_on, placed_by_count, insertion_torque_ncm)
select id::uuid, '019c0000-000a-7000-8000-000000000010', '019c0000-000a-7000-8000-000000000020', name, site,
    '019c0000-0000-7000-8000-000000000063', 'DEMO-LOT-2', '2028-06-30', '01000000000000001728063010DEMO-LOT-2', entry::jsonb,
    '"perpendicular"', 1.0, 1.0, root_distance_mm, 'attached', false, '2026-04-13', 95, torque_ncm
from (values
    ('019c0000-000a-7000-8000-000000000031', 'right upper low', 'maxilla-buccal-2-3', '{"vestibule": {"between": ["12", "13"], "apical_mm": 5}}', 9, 1.2),
    ('019c0000-000a-7000-8000-000000000032', 'right upper high', 'maxilla-buccal-2-3', '{"vestibule": {"between": ["12", "13"], "apical_mm": 12}}', 9, 1.4),
    ('019c0000-000a-7000-8000-000000000033', 'right lower high', 'mandible-buccal-5-6', '{"vestibule": {"between": ["45", "46"], "apical_mm": 5}}', 11, 1.5),
    ('019c0000-000a-7000-8000-000000000034', 'right lower low', 'mandible-buccal-5-6', '{"vestibule": {"between": ["45", "46"], "apical_mm": 12}}', 10, 1.8),
    ('019c0000-000a-7000-8000-000000000035', 'left upper low', 'maxilla-buccal-2-3', '{"vestibule": {"between": ["22", "23"], "apical_mm": 5}}', 9, 1.2),
    ('019c0000-000a-7000-8000-000000000036', 'left upper high', 'maxilla-buccal-2-3', '{"vestibule": {"between": ["22", "23"], "apical_mm": 12}}', 9, 1.4),
    ('019c0000-000a-7000-8000-000000000037', 'left lower high', 'mandible-buccal-5-6', '{"vestibule": {"between": ["35", "36"], "apical_mm": 5}}', 11, 1.5),
    ('019c0000-000a-7000-8000-000000000038', 'left lower low', 'mandible-buccal-5-6', '{"vestibule": {"between": ["35", "36"], "apical_mm": 12}}', 10, 1.8)
) as s (id, name, site, entry, torque_ncm, root_distance_mm)
on conflict do nothing;

insert into holdfast.setups (id, case_id, name, purpose) values
    ('019c0000-000a-7000-8000-000000000041', '019c0000-000a-7000-8000-000000000020', 'right upper plate', 'holds the elastics in front'),
    ('019c0000-000a-7000-8000-000000000042', '019c0000-000a-7000-8000-000000000020', 'left upper plate', 'holds the elastics in front'),
    ('019c0000-000a-7000-8000-000000000043', '019c0000-000a-7000-8000-000000000020', 'right lower plate', 'lower jaw forward'),
    ('019c0000-000a-7000-8000-000000000044', '019c0000-000a-7000-8000-000000000020', 'left lower plate', 'lower jaw forward')
on conflict do nothing;
insert into holdfast.setup_versions (setup_id, worn_from, material, nodes, bars, seats, fittings)
select s.id, '2026-05-04', '"titanium-grade-4"', replace(replace(v.nodes, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.bars, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.seats, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.fittings, '<side>', side), '<q>', q)::jsonb
from (values
    ('019c0000-000a-7000-8000-000000000041', 'right', '1'),
    ('019c0000-000a-7000-8000-000000000042', 'left', '2')
) as side (id, side, q)
join holdfast.setups s on s.id = side.id::uuid
cross join (values (
    '[
        {"name": "<side> upper low seat", "at_mm": {"vestibule": {"between": ["<q>2", "<q>3"], "apical_mm": 5, "clear_mm": 2}}, "tissue_gap_mm": 1.0},
        {"name": "<side> upper high seat", "at_mm": {"vestibule": {"between": ["<q>2", "<q>3"], "apical_mm": 12, "clear_mm": 2}}, "tissue_gap_mm": 1.0},
        {"name": "<side> upper hook", "at_mm": {"near": "<q>3", "mesial_mm": 2, "buccal_mm": 6, "occlusal_mm": -1}, "tissue_gap_mm": 1.5}
    ]',
    '[
        {"from": "<side> upper low seat", "to": "<side> upper high seat", "section": {"rectangle_mm": [3.0, 1.2]}},
        {"from": "<side> upper low seat", "to": "<side> upper hook", "section": {"rectangle_mm": [2.5, 1.2]}}
    ]',
    '[{"node": "<side> upper low seat", "screw": "<side> upper low"}, {"node": "<side> upper high seat", "screw": "<side> upper high"}]',
    '[{"node": "<side> upper hook", "kind": "hook"}]'
)) as v (nodes, bars, seats, fittings)
where not exists (select from holdfast.setup_versions o where o.setup_id = s.id);
insert into holdfast.setup_versions (setup_id, worn_from, material, nodes, bars, seats, fittings)
select s.id, '2026-05-04', '"titanium-grade-4"', replace(replace(v.nodes, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.bars, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.seats, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.fittings, '<side>', side), '<q>', q)::jsonb
from (values
    ('019c0000-000a-7000-8000-000000000043', 'right', '4'),
    ('019c0000-000a-7000-8000-000000000044', 'left', '3')
) as side (id, side, q)
join holdfast.setups s on s.id = side.id::uuid
cross join (values (
    '[
        {"name": "<side> lower high seat", "at_mm": {"vestibule": {"between": ["<q>5", "<q>6"], "apical_mm": 5, "clear_mm": 2}}, "tissue_gap_mm": 1.0},
        {"name": "<side> lower low seat", "at_mm": {"vestibule": {"between": ["<q>5", "<q>6"], "apical_mm": 12, "clear_mm": 2}}, "tissue_gap_mm": 1.0},
        {"name": "<side> lower hook", "at_mm": {"near": "<q>6", "mesial_mm": -6, "buccal_mm": 9, "occlusal_mm": -1}, "tissue_gap_mm": 1.5}
    ]',
    '[
        {"from": "<side> lower high seat", "to": "<side> lower low seat", "section": {"rectangle_mm": [3.0, 1.2]}},
        {"from": "<side> lower high seat", "to": "<side> lower hook", "section": {"rectangle_mm": [2.5, 1.2]}}
    ]',
    '[{"node": "<side> lower high seat", "screw": "<side> lower high"}, {"node": "<side> lower low seat", "screw": "<side> lower low"}]',
    '[{"node": "<side> lower hook", "kind": "hook"}]'
)) as v (nodes, bars, seats, fittings)
where not exists (select from holdfast.setup_versions o where o.setup_id = s.id);

-- New rubber every day; `gf` on each side, no more: the screws are small ones between roots.
with elements as (
    select * from jsonb_array_elements('[
        {"name": "right elastic", "kind": "elastic", "from": {"fitting": "right lower hook"},
            "to": {"fitting": "right upper hook"}, "renewed_daily": true, "hours_per_day": 20},
        {"name": "left elastic", "kind": "elastic", "from": {"fitting": "left lower hook"},
            "to": {"fitting": "left upper hook"}, "renewed_daily": true, "hours_per_day": 20}
    ]') with ordinality as e (element, place)
)
insert into holdfast.visits (id, case_id, visited_on, worn, elements, screw_checks, measures, actions, next_interval_days, note)
select id::uuid, '019c0000-000a-7000-8000-000000000020', day::date,
    '[{"setup_id": "019c0000-000a-7000-8000-000000000041"}, {"setup_id": "019c0000-000a-7000-8000-000000000042"}, {"setup_id": "019c0000-000a-7000-8000-000000000043"}, {"setup_id": "019c0000-000a-7000-8000-000000000044"}]',
    (select jsonb_agg(element || jsonb_build_object('activated_on', day, 'force_n', jsonb_build_object('value', gf, 'unit', 'gf')) order by place) from elements),
    (select jsonb_agg(jsonb_build_object('screw', s.name, 'mobility_grade', 0, 'inflammation_grade', 0) order by s.id)
        from holdfast.screws s where s.case_id = '019c0000-000a-7000-8000-000000000020'),
    measures::jsonb, actions::jsonb, next_days, note
from (values
    ('019c0000-000a-7000-8000-000000000051', '2026-05-04', 50, '{"overjet_mm": 8.0, "overbite_mm": 4.0}',
        '[{"action": "placed", "note": "four plates"}, {"action": "instructed", "note": "light elastics, day and night"}]', 42, null),
    ('019c0000-000a-7000-8000-000000000052', '2026-06-15', 75, '{"overjet_mm": 7.6, "overbite_mm": 3.9}',
        '[{"action": "adjusted", "note": "stronger elastics"}]', 42, null),
    ('019c0000-000a-7000-8000-000000000053', '2026-07-27', 75, '{"overjet_mm": 7.0, "overbite_mm": 3.7}',
        '[{"action": "instructed", "note": "new rubber every day"}]', 42, null)
) as v (id, day, gf, measures, actions, next_days, note)
on conflict do nothing;
