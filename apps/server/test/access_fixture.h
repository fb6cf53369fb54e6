#pragma once

#include "anfract/http/router.h"
#include "anfract/record/record.h"
#include "workspace_fixture.h"

namespace anfract::server {

inline const std::string secret = "correct horse battery";

/// A server whose record has a case and an account of each role, named after it.
class AccessTest : public WorkspaceTest {
  protected:
    void SetUp() override {
        WorkspaceTest::SetUp();
        const nlohmann::json made =
            json_of(201, "POST", "/api/cases", nlohmann::json{{"tooth", hand_made_tooth()}}.dump());
        id_ = made["id"];
        server_.reset();
        record_ = record::Record::open(record::RecordPlace::below(root_ / "data")).value();
        for (const record::Role role :
             {record::Role::Reader, record::Role::Assistant, record::Role::Clinician})
            ASSERT_TRUE(record_->accounts().add(to_string(role), role, secret));
        start();
    }

    http::test::Reply sign_in(const std::string& name, const std::string& password) {
        return ask("POST", "/api/session",
                   nlohmann::json{{"account", name}, {"password", password}}.dump());
    }
    /// The Cookie header of a new session.
    std::string cookie_of(const std::string& name) {
        const http::test::Reply reply = sign_in(name, secret);
        EXPECT_EQ(reply.status, 200) << reply.body;
        const std::string cookie = reply.headers.at("set-cookie");
        return cookie.substr(0, cookie.find(';'));
    }
    http::test::Reply ask_as(const std::string& cookie, const std::string& method,
                             const std::string& target, const std::string& body = "") {
        http::test::Headers headers{{"Sec-Fetch-Site", "same-origin"}};
        if (!cookie.empty()) headers.emplace_back("Cookie", cookie);
        return ask(method, target, body, headers);
    }
    /// A request to a route that fits its pattern, with a body of the type it takes.
    http::test::Reply try_route(const http::Route& route, const std::string& cookie) {
        std::string target;
        for (const std::string& segment : route.pattern)
            target += "/" + (segment == "{id}"        ? std::string("0123456789abcdef")
                             : segment == "{version}" ? "1"
                             : segment == "{name}"    ? "somebody"
                                                      : segment);
        http::test::Headers headers{{"Sec-Fetch-Site", "same-origin"}};
        if (!cookie.empty()) headers.emplace_back("Cookie", cookie);
        const bool takes_body = route.body.kind != http::BodyRule::Kind::None;
        if (takes_body) headers.emplace_back("Content-Type", route.body.content_type);
        return ask(route.method, target, takes_body ? "{}" : "", headers);
    }

    std::string id_;
    std::unique_ptr<record::Record> record_;
};

}  // namespace anfract::server
