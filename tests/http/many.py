"""A clinic of many patients, past the service."""

# A clinic of so many patients, past the service: each with six visits six weeks apart, the last of them in the half year
# before the day `next`, and two screws, of which one in a hundred is loose. Marked as judged, so that nothing works beside the clock.
MANY = """
set search_path = holdfast; set local app.clinic = '{clinic}';
insert into screw_models (id, name, diameter_mm, length_mm) values (gen_random_uuid(), 'many', 2, 9);
create temporary table made as select n, gen_random_uuid() as patient, gen_random_uuid() as case_id,
    date '{next}' - 42 + n * 7 % 183 - 141 as last from generate_series(1, {count}) n;
insert into patients (id, chart_number, family_name) select patient, 'many-' || n, 'Invented' from made;
insert into cases (id, patient_id, clinician, chair, opened_on)
    select case_id, patient, 'Dr ' || n % 7, 'chair ' || n % 12, last - 400 from made;
insert into visits (id, case_id, visited_on, next_interval_days)
    select gen_random_uuid(), case_id, last - 42 * k, 42 from made, generate_series(0, 5) k;
insert into screws (id, patient_id, case_id, name, site, screw_model_id, placed_on, state, state_on)
    select gen_random_uuid(), patient, case_id, k, 'palate-paramedian', (select id from screw_models where name = 'many' and
    clinic_id = '{clinic}'), last - 300, case when n % 50 = k then 'loose' else 'in-place' end, last
    from made, generate_series(1, 2) k;
update standings set judged = changes where clinic_id = '{clinic}';
drop table made;
"""


def people(api, clinic, count, next):
    api.sql(MANY.format(clinic=clinic.id, count=count, next=next))
