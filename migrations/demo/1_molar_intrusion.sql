-- An anterior open bite is closed by intruding the upper molars of both sides from the palate. Nothing here is told in
-- coordinates: teeth by number, points of the palate, axes perpendicular to it.

insert into holdfast.patients (id, chart_number, given_name, family_name, birth_date, sex, identifiers, cigarettes_per_day, note) values
    ('019c0000-0001-7000-8000-000000000010', 'DEMO-001', 'Invented', 'Patient One', '1992-01-20', 'female',
        '[{"system": "https://example.org/invented-register", "value": "INV-0001"}]', 0, 'Invented for the demo.')
on conflict do nothing;

insert into holdfast.cases (id, patient_id, title, clinician, opened_on, arches, segments, goals, stages, note) values
    ('019c0000-0001-7000-8000-000000000020', '019c0000-0001-7000-8000-000000000010',
    'Anterior open bite: upper molars of both sides intruded from the palate', 'Invented Clinician', '2026-02-09',
    '{"maxilla": {"width_mm": 58, "depth_mm": 47, "vault_height_mm": 17}}',
    '[{"name": "upper molars", "teeth": ["16", "17", "26", "27"], "joined": "rigid"}]',
    '[{"segment": "upper molars", "occlusal_mm": -2.5}]',
    '[
        {"name": "molar intrusion with a plate", "planned_from": "2026-03-02", "planned_to": "2026-11-09"},
        {"name": "aligners", "planned_from": "2026-11-16", "planned_to": "2027-06-14"}
    ]',
    'A palatal bar between the first molars, 4 mm off the mucosa, makes one body of the four molars: '
    'each side by itself would tip inwards.')
on conflict do nothing;

insert into holdfast.screws (id, patient_id, case_id, name, site, screw_model_id, lot, expires_on, udi, entry, axis, tissue_mm,
    stand_off_mm, mucosa, predrilled, placed_on, placed_by_count, insertion_torque_ncm)
select id::uuid, '019c0000-0001-7000-8000-000000000010', '019c0000-0001-7000-8000-000000000020', name, 'palate-paramedian',
    '019c0000-0000-7000-8000-000000000061', 'DEMO-LOT-1', '2029-01-31', '01000000000000001729013110DEMO-LOT-1', entry::jsonb,
    '"perpendicular"', 1.5, 1.0, 'attached', false, '2026-02-16', 140, torque_ncm
from (values
    ('019c0000-0001-7000-8000-000000000031', 'right', '{"palate": {"right_mm": 4.4, "behind_incisors_mm": 26}}', 18),
    ('019c0000-0001-7000-8000-000000000032', 'left', '{"palate": {"right_mm": -4.4, "behind_incisors_mm": 26}}', 17)
) as s (id, name, entry, torque_ncm)
on conflict do nothing;

insert into holdfast.setups (id, case_id, name, purpose) values
    ('019c0000-0001-7000-8000-000000000041', '019c0000-0001-7000-8000-000000000020', 'palatal plate', 'intrusion of the upper molars')
on conflict do nothing;
insert into holdfast.setup_versions (setup_id, worn_from, pattern_id, material, nodes, bars, seats, fittings)
select s.id, '2026-03-02', p.id, p.material, p.nodes, p.bars, p.seats, p.fittings
from holdfast.setups s, holdfast.plate_patterns p
where s.id = '019c0000-0001-7000-8000-000000000041' and p.id = '019c0000-0000-7000-8000-000000000071'
    and not exists (select from holdfast.setup_versions v where v.setup_id = s.id);

-- Four chains, new ones at every visit; `gf` on each.
with chains as (
    select * from jsonb_array_elements('[
        {"name": "chain to 16", "kind": "chain", "from": {"fitting": "right hook"}, "to": {"tooth": "16", "at": "palatal-attachment"}},
        {"name": "chain to 17", "kind": "chain", "from": {"fitting": "right hook"}, "to": {"tooth": "17", "at": "palatal-attachment"}},
        {"name": "chain to 26", "kind": "chain", "from": {"fitting": "left hook"}, "to": {"tooth": "26", "at": "palatal-attachment"}},
        {"name": "chain to 27", "kind": "chain", "from": {"fitting": "left hook"}, "to": {"tooth": "27", "at": "palatal-attachment"}}
    ]') with ordinality as c (element, place)
)
insert into holdfast.visits (id, case_id, visited_on, worn, elements, screw_checks, measures, actions, next_interval_days, note)
select id::uuid, '019c0000-0001-7000-8000-000000000020', day::date, '[{"setup_id": "019c0000-0001-7000-8000-000000000041"}]',
    (select jsonb_agg(element || jsonb_build_object('activated_on', day, 'force_n', jsonb_build_object('value', gf, 'unit', 'gf'))
        order by place) from chains),
    jsonb_build_array(
        jsonb_build_object('screw', 'right', 'mobility_grade', 0, 'inflammation_grade', 0),
        jsonb_build_object('screw', 'left', 'mobility_grade', 0, 'inflammation_grade', left_inflamed)),
    measures::jsonb, actions::jsonb, next_days, note
from (values
    ('019c0000-0001-7000-8000-000000000051', '2026-03-02', 80, 0, '{"overjet_mm": 3.5, "overbite_mm": -3.5}',
        '[{"action": "placed", "of": "palatal plate"},
          {"action": "activated", "note": "four chains, gently for the first weeks"}]', 42, null),
    ('019c0000-0001-7000-8000-000000000052', '2026-04-13', 100, 1,
        '{"overjet_mm": 3.4, "overbite_mm": -3.1, "forces": [{"element": "chain to 16", "force_n": 0.35}],
          "segments": [{"segment": "upper molars", "occlusal_mm": -0.3}]}',
        '[{"action": "exchanged", "note": "all chains"},
          {"action": "instructed", "of": "left", "note": "soft brush around the head, twice a day"}]', 42,
        'Mucosa a little swollen at the left screw.'),
    ('019c0000-0001-7000-8000-000000000053', '2026-05-25', 100, 0,
        '{"overjet_mm": 3.2, "overbite_mm": -2.3, "forces": [{"element": "chain to 16", "force_n": 0.44}],
          "segments": [{"segment": "upper molars", "occlusal_mm": -0.7}]}',
        '[{"action": "exchanged", "note": "all chains"}]', 42, 'Swelling gone.'),
    ('019c0000-0001-7000-8000-000000000054', '2026-07-06', 100, 0,
        '{"overjet_mm": 3.0, "overbite_mm": -1.5, "segments": [{"segment": "upper molars", "occlusal_mm": -1.1}]}',
        '[{"action": "exchanged", "note": "all chains"}]', 42, null),
    ('019c0000-0001-7000-8000-000000000055', '2026-08-17', 100, 0,
        '{"overjet_mm": 2.7, "overbite_mm": -0.7, "segments": [{"segment": "upper molars", "occlusal_mm": -1.6}]}',
        '[{"action": "exchanged", "note": "all chains"}]', 42, null),
    ('019c0000-0001-7000-8000-000000000056', '2026-09-28', 100, 0,
        '{"overjet_mm": 2.5, "overbite_mm": 0.1, "segments": [{"segment": "upper molars", "occlusal_mm": -2.0}]}',
        '[{"action": "exchanged", "note": "all chains"}]', 28, null),
    ('019c0000-0001-7000-8000-000000000057', '2026-10-26', 80, 0,
        '{"overjet_mm": 2.4, "overbite_mm": 0.6, "segments": [{"segment": "upper molars", "occlusal_mm": -2.3}]}',
        '[{"action": "exchanged", "note": "all chains, lighter: the goal is near"}]', 42, 'Impressions for the aligners at the next visit.')
) as v (id, day, gf, left_inflamed, measures, actions, next_days, note)
on conflict do nothing;
