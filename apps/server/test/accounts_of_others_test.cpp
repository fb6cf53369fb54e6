#include "access_fixture.h"

namespace anfract::server {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::Not;

TEST_F(AccessTest, AClinicianKeepsTheAccountsOfOthers) {
    const std::string cookie = cookie_of("clinician");
    const auto change = [&](const std::string& method, const std::string& target, json body,
                            const std::string& own = secret) {
        body["own_password"] = own;
        return ask_as(cookie, method, target, body.dump());
    };
    const json newcomer{{"name", "newcomer"}, {"role", "reader"}, {"password", secret}};
    EXPECT_EQ(change("POST", "/api/accounts", newcomer, "not mine at all").status, 401);
    EXPECT_EQ(json::parse(ask_as(cookie, "GET", "/api/accounts").body)["accounts"].size(), 3u);
    const http::test::Reply added = change("POST", "/api/accounts", newcomer);
    ASSERT_EQ(added.status, 200) << added.body;
    EXPECT_EQ(json::parse(added.body)["accounts"].size(), 4u);
    EXPECT_THAT(added.body, Not(HasSubstr("argon2")));
    EXPECT_EQ(change("POST", "/api/accounts", newcomer).status, 409);

    const std::string theirs = cookie_of("newcomer");
    EXPECT_EQ(ask_as(theirs, "GET", "/api/cases").status, 200);
    EXPECT_EQ(change("PUT", "/api/accounts/newcomer", {{"disabled", true}}).status, 200);
    EXPECT_EQ(ask_as(theirs, "GET", "/api/cases").status, 401);
    EXPECT_EQ(sign_in("newcomer", secret).status, 401);
    EXPECT_EQ(
        change("PUT", "/api/accounts/newcomer",
               {{"disabled", false}, {"password", "another long secret"}, {"role", "assistant"}})
            .status,
        200);
    EXPECT_EQ(sign_in("newcomer", secret).status, 401);
    EXPECT_THAT(sign_in("newcomer", "another long secret").body, HasSubstr("assistant"));

    for (const json& body :
         {json{{"disabled", "yes"}}, json{{"role", "owner"}}, json{{"password", "short"}}})
        EXPECT_EQ(change("PUT", "/api/accounts/newcomer", body).status, 400) << body;
    EXPECT_EQ(change("PUT", "/api/accounts/clinician", {{"disabled", true}}).status, 400);
    EXPECT_EQ(change("PUT", "/api/accounts/nobody", {{"disabled", true}}).status, 404);
    const std::string trail = ask_as(cookie, "GET", "/api/access?subject=newcomer").body;
    for (const char* part : {"account added: role reader", "disabled", "password role assistant"})
        EXPECT_THAT(trail, HasSubstr(part));
}

}  // namespace
}  // namespace anfract::server
