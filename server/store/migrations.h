/* The migrations of this program, written into it by migrations/embed.sh. */
#ifndef HFD_MIGRATIONS_H
#define HFD_MIGRATIONS_H

struct hfd_migration {
    const char *name;   /* "0001_clinics", "always/views" */
    const char *sha256; /* of the file, hex */
    const char *sql;
};

/* Both in the order of application, ended by a row of NULLs. The second is applied again at every migrate. */
extern const struct hfd_migration hfd_migrations[];
extern const struct hfd_migration hfd_migrations_always[];
/* The same form for what seed-demo writes; no migration. */
extern const struct hfd_migration hfd_demo[];

#endif
