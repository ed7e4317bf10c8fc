/* Who may do what: the one table. Every operation names one of these audiences; they are PostgreSQL text
 * arrays, as authenticate() takes them. */
#ifndef HFD_ROLES_H
#define HFD_ROLES_H

/* Patients and all that hangs on them. The auditor checks the trail, not the charts. */
#define HFD_CHART_READERS "{clinician,assistant,dashboard,integrator,admin}"
#define HFD_CHART_WRITERS "{clinician,assistant,integrator,admin}"
/* What a clinic chooses from. */
#define HFD_CATALOGUE_READERS HFD_EVERYONE
#define HFD_CATALOGUE_WRITERS "{clinician,admin}"
/* The trail of who read and who wrote. */
#define HFD_AUDIT_READERS "{auditor,admin}"
/* Tokens, and what a patient may ask of the clinic. */
#define HFD_ADMINISTRATORS "{admin}"
/* Computing without any record. */
#define HFD_EVERYONE "{clinician,assistant,dashboard,integrator,auditor,admin}"

/* No token needed; compared by address. */
extern const char HFD_PUBLIC[];

#endif
