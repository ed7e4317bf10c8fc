#include <criterion/criterion.h>
#include <signal.h>

#include "../../../server/base/exchange.h"

Test(exchange, the_first_of_a_name_is_found) {
    const struct hfd_pair headers[] = {{"accept", "text/csv"}, {"accept", "image/png"}},
                          query[] = {{"limit", "5"}};
    const struct hfd_request request = {
        .headers = headers, .header_count = 2, .query = query, .query_count = 1};
    cr_assert_str_eq(hfd_request_header(&request, "accept"), "text/csv");
    cr_assert_null(hfd_request_header(&request, "limit"));
    cr_assert_str_eq(hfd_request_query(&request, "limit"), "5");
    cr_assert_null(hfd_request_query(&request, "accept"));
}

Test(exchange, reply_headers_keep_their_order) {
    struct hfd_reply reply = {0};
    hfd_reply_header(&reply, "ETag", "\"1\"");
    hfd_reply_header(&reply, "Vary", "Accept");
    cr_assert_eq(reply.header_count, 2);
    cr_assert_str_eq(reply.headers[0].name, "ETag");
    cr_assert_str_eq(reply.headers[1].value, "Accept");
}

Test(exchange, more_headers_than_there_is_room_for_are_a_bug_of_ours, .signal = SIGABRT) {
    struct hfd_reply reply = {0};
    for (int i = 0; i <= HFD_REPLY_HEADERS_MAX; i++) {
        hfd_reply_header(&reply, "X", "y");
    }
}
