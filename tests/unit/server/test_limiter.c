#include "../../../server/base/limiter.h"

#include <criterion/criterion.h>

#include "../../../server/base/clock.h"

static struct hfd_limiter *limiter;
static const int64_t start_ns = 5 * HFD_NS_PER_S;

static bool ask(uint64_t who, double at_s) {
    return hfd_limiter_take(limiter, who, start_ns + (int64_t)(at_s * 1e9)).allowed;
}

/* The generic cell rate algorithm (ITU-T I.371) with an increment of 60/quota seconds and a tolerance of a
 * whole window: `quota` at once, then one per increment, and never more than quota + s * quota / 60 in s
 * seconds. */
Test(limiter, a_burst_then_an_even_flow) {
    limiter = hfd_limiter_new(6);
    for (int i = 0; i < 6; i++)
        cr_expect(ask(1, 0), "%d", i);
    cr_expect_not(ask(1, 0));
    cr_expect_not(ask(1, 9.9));
    cr_expect(ask(1, 10.0));
    cr_expect_not(ask(1, 10.1));
    cr_expect(ask(1, 30.0) && ask(1, 30.0));
    cr_expect_not(ask(1, 30.0));
    for (int i = 0; i < 6; i++)
        cr_expect(ask(1, 1000), "a full minute's rest gives all of it, %d", i);
    cr_expect_not(ask(1, 1000));
    hfd_limiter_free(limiter);
}

Test(limiter, tells_what_is_left) {
    limiter = hfd_limiter_new(100);
    struct hfd_budget budget = hfd_limiter_take(limiter, 7, start_ns);
    cr_expect(budget.allowed);
    cr_expect_eq(budget.quota, 100);
    cr_expect_eq(budget.left, 99);
    cr_expect_eq(budget.full_s, 1, "0.6 s, rounded up");
    for (int i = 0; i < 49; i++)
        budget = hfd_limiter_take(limiter, 7, start_ns);
    cr_expect_eq(budget.left, 50);
    cr_expect_eq(budget.full_s, 30);
    for (int i = 0; i < 51; i++)
        budget = hfd_limiter_take(limiter, 7, start_ns);
    cr_expect_not(budget.allowed);
    cr_expect_eq(budget.left, 0);
    cr_expect_eq(budget.retry_s, 1);
    hfd_limiter_free(limiter);
}

Test(limiter, one_a_minute) {
    limiter = hfd_limiter_new(1);
    cr_expect(ask(1, 0));
    struct hfd_budget budget = hfd_limiter_take(limiter, 1, start_ns + HFD_NS_PER_S);
    cr_expect_not(budget.allowed);
    cr_expect_eq(budget.retry_s, 59);
    cr_expect(ask(1, 60));
    hfd_limiter_free(limiter);
}

Test(limiter, what_is_given_back_counts_as_not_taken) {
    limiter = hfd_limiter_new(2);
    for (int i = 0; i < 10; i++) {
        cr_expect(ask(1, 0));
        hfd_limiter_give(limiter, 1, start_ns);
    }
    cr_expect(ask(1, 0) && ask(1, 0));
    cr_expect_not(ask(1, 0));
    hfd_limiter_free(limiter);
}

Test(limiter, names_do_not_share) {
    limiter = hfd_limiter_new(1);
    cr_expect(ask(1, 0) && ask(2, 0) && ask(1 + (UINT64_C(1) << 40), 0));
    cr_expect_not(ask(1, 0) || ask(2, 0));
    hfd_limiter_free(limiter);
}

/* All of these fall on one another's places: whoever is forgotten starts anew, the one that asks all the time
 * is not. */
Test(limiter, a_crowd_of_names_does_not_free_the_greedy_one) {
    limiter = hfd_limiter_new(10);
    for (int i = 0; i < 10; i++)
        cr_expect(ask(1024, 0));
    for (uint64_t other = 2; other < 1000; other++) {
        cr_expect(ask(1024 * other, 0));
        cr_expect_not(ask(1024, 0));
    }
    hfd_limiter_free(limiter);
}
