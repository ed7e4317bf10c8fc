#include <criterion/criterion.h>
#include <semaphore.h>
#include <stdatomic.h>

#include "../../../server/work/gather.h"

enum { most = 8 };

struct shared {
    sem_t begun, gate;
    int turns, sizes[most], order[most], done;
};

static void work(void *ctx, void *const *items, size_t count) {
    struct shared *shared = ctx;
    sem_post(&shared->begun);
    sem_wait(&shared->gate);
    shared->sizes[shared->turns++] = (int)count;
    for (size_t i = 0; i < count; i++)
        shared->order[shared->done++] = *(int *)items[i];
}

static struct hfd_gather *make(struct shared *shared) {
    sem_init(&shared->begun, 0, 0);
    sem_init(&shared->gate, 0, 0);
    struct hfd_gather *gather = hfd_gather_new(most, work, shared);
    cr_assert_not_null(gather);
    return gather;
}

/* By the contract: what comes while the thread is busy is one turn, in the order of its coming. */
Test(gather, takes_at_once_what_came_meanwhile) {
    struct shared shared = {0};
    struct hfd_gather *gather = make(&shared);
    int items[] = {1, 2, 3, 4};
    cr_assert_eq(hfd_gather_busy(gather), 0);
    hfd_gather_push(gather, &items[0]);
    sem_wait(&shared.begun);
    for (int i = 1; i < 4; i++)
        hfd_gather_push(gather, &items[i]);
    cr_assert_eq(hfd_gather_busy(gather), 4);
    sem_post(&shared.gate);
    sem_wait(&shared.begun);
    cr_assert_eq(hfd_gather_busy(gather), 3);
    sem_post(&shared.gate);
    hfd_gather_free(gather);
    cr_assert_eq(shared.turns, 2);
    cr_assert(shared.sizes[0] == 1 && shared.sizes[1] == 3);
    for (int i = 0; i < 4; i++)
        cr_assert_eq(shared.order[i], i + 1);
}

Test(gather, works_off_what_waits_before_it_ends) {
    struct shared shared = {0};
    struct hfd_gather *gather = make(&shared);
    int items[] = {1, 2};
    for (int i = 0; i < 2; i++)
        hfd_gather_push(gather, &items[i]);
    sem_post(&shared.gate);
    sem_post(&shared.gate);
    hfd_gather_free(gather);
    cr_assert_eq(shared.done, 2);
}

Test(gather, of_nothing_ends) {
    struct shared shared = {0};
    hfd_gather_free(make(&shared));
    hfd_gather_free(NULL);
    cr_assert_eq(shared.turns, 0);
}
