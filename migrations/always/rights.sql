-- Replies kept for retried requests hold what was sent and told: those about a patient's records go with them.
create or replace function holdfast.forget_replies(patient uuid) returns void
language plpgsql security definer set search_path = holdfast, pg_temp as $$
begin
    delete from replies r using (
        select patient as id
        union all select c.id from cases c where c.patient_id = patient
        union all select s.id from screws s where s.patient_id = patient
        union all select u.id from setups u join cases c on c.id = u.case_id where c.patient_id = patient
        union all select v.id from visits v join cases c on c.id = v.case_id where c.patient_id = patient) gone
    where strpos(r.path, gone.id::text) > 0 or strpos(r.body, gone.id::text) > 0 or strpos(r.fields, gone.id::text) > 0;
end $$;
comment on function holdfast.forget_replies is 'Removes kept replies that name a patient or a record of the patient';

-- Names, numbers and free text go, of the birth date the year stays: what was done and how it went can still be counted.
create or replace function holdfast.pseudonymise_patient(patient uuid) returns void
language plpgsql security definer set search_path = holdfast, pg_temp as $$
begin
    perform forget_replies(patient);
    update patients p set chart_number = 'P-' || p.id, given_name = null, family_name = null, identifiers = null,
        note = null, birth_date = date_trunc('year', p.birth_date) where p.id = patient;
    update cases c set title = null, note = null,
        stages = (select jsonb_agg(s - 'note' order by n) from jsonb_array_elements(c.stages) with ordinality e (s, n))
        where c.patient_id = patient;
    update screws s set state_reason = null, udi = null where s.patient_id = patient;
    update visits v set note = null,
        actions = (select jsonb_agg(a - 'note' order by n) from jsonb_array_elements(v.actions) with ordinality e (a, n))
        from cases c where c.id = v.case_id and c.patient_id = patient;
    -- Answers of before were made with the exact age.
    delete from evaluations e using visits v, cases c
        where v.id = e.visit_id and c.id = v.case_id and c.patient_id = patient;
end $$;
comment on function holdfast.pseudonymise_patient is 'Takes from a patient''s records what tells who it is';

create or replace function holdfast.erase_patient(patient uuid, reason text) returns void
language plpgsql security definer set search_path = holdfast, pg_temp as $$
begin
    perform forget_replies(patient);
    delete from evaluations e using visits v, cases c
        where v.id = e.visit_id and c.id = v.case_id and c.patient_id = patient;
    delete from standings s where s.patient_id = patient;
    delete from visit_setups k using cases c where c.id = k.case_id and c.patient_id = patient;
    delete from visits v using cases c where c.id = v.case_id and c.patient_id = patient;
    delete from setup_versions w using setups s, cases c
        where s.id = w.setup_id and c.id = s.case_id and c.patient_id = patient;
    delete from setups s using cases c where c.id = s.case_id and c.patient_id = patient;
    delete from screws s where s.patient_id = patient;
    delete from cases c where c.patient_id = patient;
    delete from patients p where p.id = patient;
    insert into erasures (id, reason) values (patient, reason);
end $$;
comment on function holdfast.erase_patient is 'Removes a patient with all records and leaves a tombstone; a table left out here is a violated reference';
