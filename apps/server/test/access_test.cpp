#include <sys/mount.h>

#include <chrono>
#include <set>

#include "access_fixture.h"
#include "access_rules.h"
#include "anfract/record/archive.h"
#include "doorkeeper.h"
#include "workspace.h"
#include "workspace_fixture.h"

namespace anfract::server {
namespace {

using nlohmann::json;
using record::Role;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;
namespace fs = std::filesystem;

/// The route list of the program itself, without a server.
std::vector<http::Route> all_routes(const fs::path& root) {
    Workspace workspace;
    workspace.directory = DataDirectory::open(root).value();
    workspace.record = record::Record::open(record::RecordPlace::below(root)).value();
    workspace.door = std::make_unique<Doorkeeper>(*workspace.record, false);
    return routes_of(workspace).routes();
}

TEST_F(AccessTest, EveryRouteHasARuleAndEveryRuleARoute) {
    std::set<std::string> names{"GET /"};
    for (const http::Route& route : all_routes(root_ / "routes")) {
        EXPECT_TRUE(access_rules().contains(route.name())) << route.name() << " has no rule";
        names.insert(route.name());
    }
    for (const auto& [name, rule] : access_rules())
        EXPECT_TRUE(names.contains(name)) << name << " is no route";
}

TEST_F(AccessTest, EveryRouteIsOpenToTheRolesOfItsRuleOnly) {
    const std::map<std::optional<Role>, std::string> cookies{
        {std::nullopt, ""},
        {Role::Reader, cookie_of("reader")},
        {Role::Assistant, cookie_of("assistant")},
        {Role::Clinician, cookie_of("clinician")}};
    for (const http::Route& route : all_routes(root_ / "routes")) {
        // It ends the session it is asked with.
        if (route.name() == "DELETE /api/session") continue;
        const std::optional<Role> least = access_rules().at(route.name()).least;
        for (const auto& [role, cookie] : cookies) {
            const http::test::Reply reply = try_route(route, cookie);
            const bool refused = reply.status == 403 || reply.status == 401;
            const bool may = !least || (role && *role >= *least);
            const std::string who = role ? to_string(*role) : "nobody";
            if (route.name() == "POST /api/session") {
                EXPECT_EQ(reply.status, 400) << who;
            } else {
                EXPECT_EQ(refused, !may) << route.name() << " as " << who << ": " << reply.status;
            }
            if (!may) {
                EXPECT_EQ(reply.status, role ? 403 : 401) << route.name() << " as " << who;
            }
        }
    }
}

TEST_F(AccessTest, EveryAnswerCarriesTheSecurityHeaders) {
    const std::string cookie = cookie_of("clinician");
    auto routes = all_routes(root_ / "routes");
    for (const http::Route& route : routes) {
        for (const std::string& who : {std::string(), cookie}) {
            if (route.name() == "DELETE /api/session") continue;
            const http::test::Reply reply = try_route(route, who);
            // The values that the OWASP HTTP Security Response Headers Cheat Sheet asks for.
            const std::map<std::string, std::string> expected{
                {"x-content-type-options", "nosniff"},
                {"x-frame-options", "DENY"},
                {"referrer-policy", "no-referrer"},
                {"cross-origin-opener-policy", "same-origin"},
                {"cross-origin-resource-policy", "same-origin"},
                {"cache-control", "no-store"}};
            for (const auto& [name, value] : expected) {
                const auto found = reply.headers.find(name);
                ASSERT_NE(found, reply.headers.end()) << route.name() << " " << name;
                EXPECT_EQ(found->second, value) << route.name();
            }
            const std::string policy = reply.headers.at("content-security-policy");
            for (const char* part : {"default-src 'self'", "object-src 'none'", "base-uri 'none'",
                                     "form-action 'none'", "frame-ancestors 'none'"})
                EXPECT_THAT(policy, HasSubstr(part)) << route.name();
            EXPECT_THAT(policy, Not(HasSubstr("unsafe"))) << route.name();
            EXPECT_EQ(reply.headers.count("server"), 0u) << route.name();
            EXPECT_EQ(reply.headers.count("access-control-allow-origin"), 0u) << route.name();
            EXPECT_TRUE(reply.headers.contains("permissions-policy")) << route.name();
        }
    }
}

TEST_F(AccessTest, TheCookieIsNotForScriptsOrOtherSites) {
    const std::string cookie = sign_in("reader", secret).headers.at("set-cookie");
    EXPECT_THAT(cookie, HasSubstr("; HttpOnly"));
    EXPECT_THAT(cookie, HasSubstr("; SameSite=Strict"));
    EXPECT_THAT(cookie, Not(HasSubstr("Secure")));  // plain HTTP on loopback
    EXPECT_GE(cookie.find(';'), 64u);               // 32 random bytes
    // With a cookie, what changes something must say that it comes from our page.
    const std::string mine = cookie_of("clinician");
    EXPECT_EQ(ask("DELETE", "/api/cases/" + id_, "", {{"Cookie", mine}}).status, 403);
    EXPECT_EQ(
        ask("DELETE", "/api/cases/" + id_, "", {{"Cookie", mine}, {"Sec-Fetch-Site", "cross-site"}})
            .status,
        403);
    EXPECT_EQ(ask_as(mine, "GET", "/api/cases/" + id_).status, 200);
    EXPECT_EQ(ask_as(mine, "DELETE", "/api/cases/" + id_).status, 204);
}

TEST_F(AccessTest, SessionsEndWithTheSignOutAndWithTheAccount) {
    const json before = json_of(200, "GET", "/api/session");
    EXPECT_EQ(before["accounts"], true);
    EXPECT_EQ(before["account"], nullptr);
    const std::string first = cookie_of("reader"), second = cookie_of("reader");
    EXPECT_NE(first, second);
    EXPECT_EQ(json::parse(ask_as(first, "GET", "/api/session").body)["role"], "reader");
    EXPECT_EQ(ask_as(first, "DELETE", "/api/session").status, 204);
    EXPECT_EQ(ask_as(first, "GET", "/api/cases").status, 401);
    EXPECT_EQ(ask_as(second, "GET", "/api/cases").status, 200);
    ASSERT_TRUE(record_->accounts().set_disabled("reader", true));
    EXPECT_EQ(ask_as(second, "GET", "/api/cases").status, 401);
    EXPECT_EQ(sign_in("reader", secret).status, 401);
    EXPECT_EQ(ask_as("anfract=" + std::string(64, '0'), "GET", "/api/cases").status, 401);
}

TEST_F(AccessTest, APasswordIsChangedByItsOwnerWhoStaysSignedIn) {
    const std::string mine = cookie_of("assistant"), other = cookie_of("assistant");
    const auto change = [&](const std::string& old, const std::string& wanted) {
        return ask_as(mine, "PUT", "/api/session/password",
                      json{{"password", old}, {"new_password", wanted}}.dump());
    };
    EXPECT_EQ(change("not the password", "a new passphrase").status, 401);
    EXPECT_EQ(change(secret, "short").status, 400);
    const http::test::Reply changed = change(secret, "a new passphrase");
    ASSERT_EQ(changed.status, 200);
    const std::string cookie = changed.headers.at("set-cookie");
    EXPECT_EQ(ask_as(cookie.substr(0, cookie.find(';')), "GET", "/api/cases").status, 200);
    EXPECT_EQ(ask_as(other, "GET", "/api/cases").status, 401);
    EXPECT_EQ(sign_in("assistant", secret).status, 401);
    EXPECT_EQ(sign_in("assistant", "a new passphrase").status, 200);
}

TEST_F(AccessTest, WhoLookedAtAPatientIsInTheRecord) {
    const std::string reader = cookie_of("reader"), clinician = cookie_of("clinician");
    for (int i = 0; i < 2; ++i)  // each look counts
        EXPECT_EQ(ask_as(reader, "GET", "/api/cases/" + id_).status, 200);
    EXPECT_EQ(ask_as(reader, "GET", "/api/cases?find=Person").status, 200);
    EXPECT_EQ(ask_as(clinician, "GET", "/api/cases/" + id_ + "/record").status, 200);
    EXPECT_EQ(ask_as(reader, "GET", "/api/cases/0123456789abcdef").status, 404);
    sign_in("reader", "a wrong password");
    const json lines =
        json::parse(ask_as(clinician, "GET", "/api/access").body).at("lines");  // newest first
    std::vector<std::string> told;
    for (auto line = lines.rbegin(); line != lines.rend(); ++line) {
        if (line->at("account") == "") continue;  // from before there were accounts
        told.push_back(line->at("account").get<std::string>() + " " +
                       line->at("what").get<std::string>() + " " +
                       line->at("subject").get<std::string>());
    }
    const std::vector<std::string> expected{
        "reader sign-in 127.0.0.1",          "clinician sign-in 127.0.0.1",
        "reader GET /api/cases/{id} " + id_, "reader GET /api/cases/{id} " + id_,
        "reader GET /api/cases Person",      "clinician GET /api/cases/{id}/record " + id_,
        "reader sign-in refused 127.0.0.1"};
    EXPECT_EQ(told, expected);
    const json of_case =
        json::parse(ask_as(clinician, "GET", "/api/access?subject=" + id_).body).at("lines");
    EXPECT_EQ(of_case.size(), 3u);
    EXPECT_THAT(record::check(*record_).value().problems, IsEmpty());
}

// Needs the right to mount, as in the containers the tests run in.
TEST(AccessTrailOnAFullDisk, LooksWaitAndWhenManyWaitNothingMoreIsShown) {
    const fs::path disk =
        fs::temp_directory_path() / ("anfract-full-" + std::to_string(::getpid()));
    fs::create_directories(disk);
    if (::mount("tmpfs", disk.c_str(), "tmpfs", 0, "size=2m") != 0) {
        fs::remove_all(disk);
        GTEST_SKIP() << "there is no right to mount a disk";
    }
    auto record = record::Record::open(record::RecordPlace::below(disk)).value();
    Doorkeeper door(*record, false);
    const http::Handler show = door.recorded(
        http::Route{"GET", {"api", "cases"}, {}, {}},
        [](http::Request&) { return http::respond(200, "text/plain", "somebody's plan"); });
    http::Request request;
    int shown = 0;
    http::Response last = show(request);
    for (; last.status == 200 && shown < 5000; last = show(request)) {
        ++shown;
        (void)record->vault().put(std::string(64 << 10, 'x') + std::to_string(shown));
    }
    EXPECT_EQ(last.status, 507);
    EXPECT_THAT(last.body, HasSubstr("looks cannot be recorded"));
    EXPECT_THAT(last.body, HasSubstr("make room on the disk"));
    EXPECT_THAT(last.body, Not(HasSubstr("somebody")));
    const std::size_t written = record->access().lines().value().size();
    EXPECT_GT(written, 0u);
    EXPECT_EQ(std::size_t(shown), written + 200);
    fs::remove_all(disk / "files");
    EXPECT_EQ(show(request).status, 200);
    EXPECT_EQ(record->access().lines().value().size(), std::size_t(shown) + 1);
    EXPECT_EQ(record->access().first_broken().value(), 0);
    record.reset();
    EXPECT_EQ(::umount(disk.c_str()), 0);
    fs::remove_all(disk);
}

TEST_F(AccessTest, WhatIsStoredBearsTheNameOfWhoStoredIt) {
    const std::string clinician = cookie_of("clinician");
    const std::string one = "/api/cases/" + id_;
    const json saved =
        json::parse(ask_as(clinician, "PUT", one + "/record",
                           json{{"based_on", 0}, {"record", {{"prognosis", "good"}}}}.dump())
                        .body);
    EXPECT_EQ(saved["author"], "clinician");
    const json logged =
        json::parse(ask_as(cookie_of("assistant"), "POST", one + "/log",
                           R"({"entries":[{"entry_id":"00000000-0000-4000-8000-000000000001",)"
                           R"("at":"2026-01-31T12:00:00Z","kind":"note","text":"x"}]})")
                        .body);
    EXPECT_EQ(logged["entries"][0]["author"], "assistant");
}

// ---- tries, with a clock of the test's own ----

class Tries : public ::testing::Test {
  protected:
    void SetUp() override {
        fs::create_directories(root_);
        record_ = record::Record::open(record::RecordPlace::below(root_)).value();
        ASSERT_TRUE(record_->accounts().add("ada", Role::Clinician, secret));
        door_ = std::make_unique<Doorkeeper>(*record_, true, [this] { return now_; });
    }
    void TearDown() override {
        door_.reset();
        record_.reset();
        fs::remove_all(root_);
    }
    http::Response sign_in(const std::string& password, const std::string& peer = "192.0.2.1",
                           const std::string& name = "ada") {
        http::Request request;
        request.peer = peer;
        request.body = json{{"account", name}, {"password", password}}.dump();
        return door_->sign_in(request);
    }
    /// Whether a request with that cookie is let in.
    bool let_in(const std::string& set_cookie) {
        http::Request request;
        request.peer = "192.0.2.1";
        request.headers.emplace("cookie", set_cookie.substr(0, set_cookie.find(';')));
        return !door_->admit(request, http::Route{"GET", {"api", "cases"}, {}, {}});
    }
    static std::string cookie_of(const http::Response& response) {
        for (const auto& [name, value] : response.headers) {
            if (name == "Set-Cookie") return value;
        }
        return "";
    }
    fs::path root_ = fs::temp_directory_path() / ("anfract-tries-" + std::to_string(::getpid()));
    std::unique_ptr<record::Record> record_;
    Doorkeeper::Clock::time_point now_{std::chrono::hours(1000)};
    std::unique_ptr<Doorkeeper> door_;
};

TEST_F(Tries, WrongPasswordsHaveToWaitLongerAndLonger) {
    for (int i = 0; i < 5; ++i) EXPECT_EQ(sign_in("wrong password").status, 401);
    const http::Response wait = sign_in(secret);
    EXPECT_EQ(wait.status, 429);
    EXPECT_TRUE(wait.has("Retry-After"));
    EXPECT_EQ(sign_in(secret, "192.0.2.9").status, 429);  // the account, wherever from
    EXPECT_EQ(sign_in("whatever it is", "192.0.2.1", "ben").status, 429);  // the address as well
    now_ += std::chrono::seconds(31);
    EXPECT_EQ(sign_in("wrong password").status, 401);
    now_ += std::chrono::seconds(31);
    EXPECT_EQ(sign_in(secret).status, 429);  // a minute now
    now_ += std::chrono::seconds(31);
    EXPECT_EQ(sign_in(secret).status, 200);
}

TEST_F(Tries, SessionsEndWhenUnusedAndAfterADay) {
    const std::string cookie = cookie_of(sign_in(secret));
    EXPECT_THAT(cookie, HasSubstr("__Host-anfract="));
    EXPECT_THAT(cookie, HasSubstr("; Secure"));
    EXPECT_THAT(cookie, HasSubstr("; Path=/;"));
    for (int hour = 0; hour < 11; ++hour) {
        now_ += std::chrono::hours(1);
        EXPECT_TRUE(let_in(cookie));
    }
    now_ += std::chrono::hours(1);
    EXPECT_FALSE(let_in(cookie));  // twelve hours
    const std::string next = cookie_of(sign_in(secret));
    now_ += std::chrono::minutes(121);
    EXPECT_FALSE(let_in(next));  // two hours unused
}

TEST_F(Tries, ARouteWithoutARuleIsRefusedAndSoIsTheNetworkWithoutAccounts) {
    const std::string cookie = cookie_of(sign_in(secret));
    http::Request request;
    request.peer = "192.0.2.1";
    request.headers.emplace("cookie", cookie.substr(0, cookie.find(';')));
    const http::Route unknown{"GET", {"api", "new"}, {}, {}};
    EXPECT_EQ(door_->admit(request, unknown)->status, 403);
    const fs::path other = root_ / "other";
    fs::create_directories(other);
    const auto empty = record::Record::open(record::RecordPlace::below(other)).value();
    Doorkeeper door(*empty, true);
    const http::Route list{"GET", {"api", "cases"}, {}, {}};
    EXPECT_EQ(door.admit(request, list)->status, 401);
    request.peer = "127.0.0.1";
    EXPECT_FALSE(door.admit(request, list));
}

TEST_F(WorkspaceTest, ListensToTheNetworkOnlyWithAnAccountAndTls) {
    server_.reset();
    ServeOptions options;
    options.data = root_ / "data";
    options.address = "0.0.0.0";
    const auto refusal = [&] {
        const auto started = WorkspaceServer::start(options, Progress());
        return started ? std::string("started") : started.error().sentence();
    };
    EXPECT_THAT(refusal(), HasSubstr("anfract account add"));
    ASSERT_TRUE(record::Record::open(record::RecordPlace::below(root_ / "data"))
                    .value()
                    ->accounts()
                    .add("ada", Role::Clinician, secret));
    EXPECT_THAT(refusal(), HasSubstr("--tls-cert"));
    http::test::make_certificate(root_.string());
    options.tls_certificate = root_ / "cert.pem";
    options.tls_key = root_ / "key.pem";
    auto started = WorkspaceServer::start(options, Progress());
    ASSERT_TRUE(started) << started.error().sentence();
    const auto over_tls = [&](const std::string& method, const std::string& target,
                              const std::string& body, const http::test::Headers& headers = {}) {
        return http::test::ask_encrypted((*started)->port(), (root_ / "cert.pem").string(), method,
                                         target, body, headers);
    };
    EXPECT_EQ(over_tls("GET", "/api/cases", "").status, 401);
    const http::test::Reply in =
        over_tls("POST", "/api/session", json{{"account", "ada"}, {"password", secret}}.dump());
    ASSERT_EQ(in.status, 200);
    const std::string cookie = in.headers.at("set-cookie");
    EXPECT_THAT(cookie, HasSubstr("Secure"));
    const http::test::Headers mine{{"Cookie", cookie.substr(0, cookie.find(';'))},
                                   {"Sec-Fetch-Site", "same-origin"}};
    EXPECT_EQ(over_tls("GET", "/api/cases", "", mine).status, 200);
    // Nobody has files of this machine read from elsewhere.
    EXPECT_EQ(over_tls("POST", "/api/scans", json{{"path", "/etc/passwd"}}.dump(), mine).status,
              422);
}

}  // namespace
}  // namespace anfract::server
