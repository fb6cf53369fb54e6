#include <algorithm>
#include <chrono>

#include "workspace_fixture.h"

namespace anfract::server {
namespace {

using nlohmann::json;

class ReadingsTest : public WorkspaceTest {
  protected:
    void SetUp() override {
        WorkspaceTest::SetUp();
        case_ = "/api/cases/" +
                json_of(201, "POST", "/api/cases", json{{"tooth", hand_made_tooth()}}.dump())
                    .value("id", "");
    }
    std::string events(const std::string& job, const std::string& until) {
        http::test::RawConnection listener(server_->port());
        listener.send("GET /api/jobs/" + job + "/events HTTP/1.1\r\nHost: localhost\r\n\r\n");
        return listener.read_until(until, std::chrono::minutes(1));
    }
    std::string case_;
};

TEST_F(ReadingsTest, GivesTheMeasuresOfACase) {
    const json measures = json_of(200, "GET", case_ + "/measures");
    EXPECT_EQ(measures["format"], "anfract.measures");
    ASSERT_EQ(measures["canals"].size(), 1u);
    // The canal is an arc of 12 mm, closed form.
    EXPECT_NEAR(measures["canals"][0]["length_mm"].get<double>(), 12, 0.01);
}

TEST_F(ReadingsTest, GivesEveryDeviceInEveryCanal) {
    const json tray = json_of(200, "GET", "/api/tray");
    const json passages = json_of(200, "GET", case_ + "/passages");
    EXPECT_EQ(passages["format"], "anfract.passages");
    EXPECT_EQ(passages["passages"].size() + passages.value("left_out", json::array()).size(),
              tray["devices"].size());
    for (const json& passage : passages["passages"]) {
        EXPECT_FALSE(passage.contains("profile"));
        EXPECT_LE(passage["reaches_mm"].get<double>(), 20.0 + 0.01);
    }
}

TEST_F(ReadingsTest, PlansACaseOnceForEachTray) {
    const json plan = json_of(200, "GET", case_ + "/plan");
    EXPECT_EQ(plan["format"], "anfract.plan");
    EXPECT_EQ(plan["invented"], true);
    EXPECT_FALSE(plan["cautions"].empty());
    ASSERT_EQ(plan["canals"].size(), 1u);
    const auto begin = std::chrono::steady_clock::now();
    EXPECT_EQ(json_of(200, "GET", case_ + "/plan"), plan);
    // Kept, not made again: reading it takes milliseconds where making it takes a good part of a
    // second.
    EXPECT_LT(std::chrono::steady_clock::now() - begin, std::chrono::milliseconds(300));
    json tray = plan["tray"];
    tray["devices"].erase(tray["devices"].size() - 1);
    json_of(200, "PUT", "/api/tray", tray.dump());
    EXPECT_EQ(json_of(200, "GET", case_ + "/plan")["tray"]["devices"].size(),
              tray["devices"].size());
    refuses(404, "GET", "/api/cases/0123456789abcdef/plan");
    refuses(404, "GET", "/api/cases/0123456789abcdef/letter.pdf");
}

TEST_F(ReadingsTest, MakesSlowDocumentsAsJobsThatTellTheirProgress) {
    for (const std::string document : {"passages", "plan"}) {
        const std::string job = json_of(202, "POST", case_ + "/" + document, "{}").value("job", "");
        const std::string heard = events(job, "event: done\ndata: {\"case\":\"");
        EXPECT_THAT(heard, ::testing::HasSubstr("event: progress\ndata: {\"fraction\":"));
        ASSERT_THAT(heard, ::testing::HasSubstr("event: done")) << document;
        // Made already: reading it now takes no time.
        const auto begin = std::chrono::steady_clock::now();
        EXPECT_EQ(json_of(200, "GET", case_ + "/" + document)["format"], "anfract." + document);
        EXPECT_LT(std::chrono::steady_clock::now() - begin, std::chrono::milliseconds(300));
        refuses(404, "POST", "/api/cases/0123456789abcdef/" + document, "{}");
    }
}

TEST_F(ReadingsTest, CancelsASlowDocument) {
    const std::string plan = json_of(202, "POST", case_ + "/plan", "{}").value("job", "");
    // The plan runs, or waits its turn; either way it ends, and what follows is not held up.
    EXPECT_EQ(ask("DELETE", "/api/jobs/" + plan).status, 202);
    EXPECT_THAT(events(plan, "event: cancelled\ndata: {}\n\n"),
                ::testing::HasSubstr("event: cancelled"));
    const std::string after = json_of(202, "POST", case_ + "/passages", "{}").value("job", "");
    EXPECT_THAT(events(after, "event: done"), ::testing::HasSubstr("event: done"));
}

TEST_F(ReadingsTest, FollowsTheTray) {
    json_of(200, "GET", case_ + "/passages");
    json tray = json_of(200, "GET", "/api/tray");
    const json kept = tray["devices"][0];
    tray["devices"] = json::array({kept});
    json_of(200, "PUT", "/api/tray", tray.dump());
    const json passages = json_of(200, "GET", case_ + "/passages");
    ASSERT_EQ(passages["passages"].size(), 1u);
    EXPECT_EQ(passages["passages"][0]["device"], kept["id"]);
}

TEST_F(ReadingsTest, RehearsesOneDeviceFreelyAndHeld) {
    const std::string device = json_of(200, "GET", "/api/tray")["devices"][0]["id"];
    const json free =
        json_of(200, "POST", case_ + "/rehearse", json{{"canal", "MB"}, {"device", device}}.dump());
    ASSERT_TRUE(free.contains("profile"));
    EXPECT_EQ(free["profile"]["depth_mm"].size(), free["profile"]["strain"].size());
    const json held = json_of(200, "POST", case_ + "/rehearse",
                              json{{"canal", "MB"},
                                   {"device", device},
                                   {"tip_depth_mm", 14.0},
                                   {"access", "straight"},
                                   {"friction", 0.1}}
                                  .dump());
    EXPECT_NEAR(held["profile"]["depth_mm"].back().get<double>(), 14.0, 0.1);
    EXPECT_EQ(held["access"], "straight");
    // The list and the single answer are the same computation.
    for (const json& passage : json_of(200, "GET", case_ + "/passages")["passages"]) {
        if (passage["device"] == device) {
            EXPECT_EQ(passage["reaches_mm"], free["reaches_mm"]);
        }
    }
}

TEST_F(ReadingsTest, RefusesRehearsalsThatAreNone) {
    const std::string device = json_of(200, "GET", "/api/tray")["devices"][0]["id"];
    const auto body = [&](json changes) {
        json all{{"canal", "MB"}, {"device", device}};
        all.merge_patch(changes);
        return all.dump();
    };
    const std::string rehearse = case_ + "/rehearse";
    refuses(404, "POST", rehearse, body({{"canal", "none"}}));
    refuses(404, "POST", rehearse, body({{"device", "none"}}));
    for (const json& bad :
         {json{{"canal", nullptr}}, json{{"canal", 3}}, json{{"access", "sideways"}},
          json{{"friction", -1}}, json{{"friction", "high"}}, json{{"tip_depth_mm", "deep"}}}) {
        refuses(400, "POST", rehearse, body(bad));
    }
    refuses(400, "POST", rehearse, "{");
    refuses(404, "POST", "/api/cases/0123456789abcdef/rehearse", body({}));
    refuses(404, "GET", "/api/cases/0123456789abcdef/measures");
    refuses(404, "GET", "/api/cases/0123456789abcdef/passages");
    refuses(405, "GET", rehearse);
}

TEST_F(ReadingsTest, AnswersADragInTime) {
    const std::string device = json_of(200, "GET", "/api/tray")["devices"][0]["id"];
    std::vector<double> times_ms;
    for (int i = 0; i < 40; ++i) {
        const std::string body =
            json{{"canal", "MB"}, {"device", device}, {"tip_depth_mm", 12 + 0.15 * i}}.dump();
        const auto begin = std::chrono::steady_clock::now();
        json_of(200, "POST", case_ + "/rehearse", body);
        times_ms.push_back(
            std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - begin)
                .count());
    }
    std::nth_element(times_ms.begin(), times_ms.begin() + 20, times_ms.end());
    RecordProperty("median_ms", std::to_string(times_ms[20]));
    // A drag is live at 30 answers a second; the test machine may be busy and a debug build slow,
    // so this holds only the order of magnitude. Run with --gtest_filter=*Drag* to see the figure.
    std::printf("one rehearsal of a drag: median %.1f ms\n", times_ms[20]);
    EXPECT_LT(times_ms[20], 330);
}

}  // namespace
}  // namespace anfract::server
