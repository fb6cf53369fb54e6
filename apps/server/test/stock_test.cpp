#include "anfract/record/record.h"
#include "workspace_fixture.h"

namespace anfract::server {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;

class StockRoutesTest : public WorkspaceTest {
  protected:
    void SetUp() override {
        WorkspaceTest::SetUp();
        device_ = json_of(200, "GET", "/api/tray")["devices"][0];
        id_ = device_["id"];
        device_["max_uses"] = 1;
        json_of(200, "PUT", "/api/stock/items/" + id_,
                json{{"device", device_}, {"minimum", 4}}.dump());
    }
    json receive(int count, int status = 200) {
        return json_of(
            status, "POST", "/api/stock/movements",
            json{{"movements",
                  {{{"item", id_}, {"kind", "received"}, {"count", count}, {"lot", "L1"}}}}}
                .dump());
    }
    json device_;
    std::string id_;
};

TEST_F(StockRoutesTest, IsTheTrayAndFollowsTheLog) {
    EXPECT_EQ(receive(3)["items"][0]["ready"], 3);
    EXPECT_EQ(json_of(200, "GET", "/api/tray")["devices"][0]["stock"], 3);
    const json made = json_of(201, "POST", "/api/cases", json{{"tooth", hand_made_tooth()}}.dump());
    const std::string case_id = made["id"];
    json_of(200, "POST", "/api/cases/" + case_id + "/log",
            json{{"entries",
                  {{{"entry_id", "00000000-0000-4000-8000-000000000001"},
                    {"at", "2026-01-31T12:00:00Z"},
                    {"kind", "step-done"},
                    {"device", id_}}}}}
                .dump());
    EXPECT_EQ(json_of(200, "GET", "/api/tray")["devices"][0]["stock"], 2);
    start();
    EXPECT_EQ(json_of(200, "GET", "/api/tray")["devices"][0]["stock"], 2);
    const json lines = json_of(200, "GET", "/api/stock/reorder")["lines"];
    ASSERT_EQ(lines.size(), 1u);
    EXPECT_EQ(lines[0]["order"], 2);
    EXPECT_THAT(ask("GET", "/api/stock/stock.csv").body, HasSubstr(id_));
    EXPECT_EQ(json_of(200, "GET", "/api/stock/items/" + id_ + "/movements")["movements"].size(),
              1u);
    // The tray is changed by way of the stock now.
    refuses(409, "PUT", "/api/tray", json_of(200, "GET", "/api/tray").dump());
}

TEST_F(StockRoutesTest, SaysWhenTheStockCannotBeReadInsteadOfPlanningWithTheOldTray) {
    receive(3);
    const json made = json_of(201, "POST", "/api/cases", json{{"tooth", hand_made_tooth()}}.dump());
    const std::string one = "/api/cases/" + made["id"].get<std::string>();
    json_of(200, "GET", "/api/tray");
    const auto record = record::Record::open(record::RecordPlace::below(root_ / "data")).value();
    ASSERT_TRUE(record->stock().put_item({id_, {{"id", id_}, {"max_uses", 1}}, 0}));  // no kind
    for (const std::string& address : {std::string("/api/tray"), one + "/plan", one + "/passages"})
        EXPECT_GE(ask("GET", address).status, 400) << address;
    EXPECT_THAT(json_of(400, "GET", "/api/tray").dump(), HasSubstr("devices[0]"));
    refuses(400, "POST", one + "/plan-versions", "{}");
}

TEST_F(StockRoutesTest, OffersTheDevicesThatAreNotInStock) {
    const json stock = json_of(200, "GET", "/api/stock");
    ASSERT_EQ(stock["items"].size(), 1u);
    ASSERT_FALSE(stock["addable"].empty());
    for (const json& device : stock["addable"]) EXPECT_NE(device["id"], id_);
    const json another = stock["addable"][0];
    const json more = json_of(200, "PUT", "/api/stock/items/" + another["id"].get<std::string>(),
                              json{{"device", another}}.dump());
    EXPECT_EQ(more["items"].size(), 2u);
    EXPECT_EQ(more["addable"].size(), stock["addable"].size() - 1);
}

TEST_F(StockRoutesTest, OrdersWhatKeptPlansNeed) {
    receive(4);
    EXPECT_TRUE(json_of(200, "GET", "/api/stock/reorder")["lines"].empty());
    const json made = json_of(201, "POST", "/api/cases", json{{"tooth", hand_made_tooth()}}.dump());
    const std::string one = "/api/cases/" + made["id"].get<std::string>();
    json_of(201, "POST", one + "/plan-versions", "{}");
    const json plan = json_of(200, "GET", one + "/files/plan/1");
    const bool needed =
        plan["canals"][0]["order"].dump().find("\"" + id_ + "\"") != std::string::npos;
    EXPECT_EQ(json_of(200, "GET", "/api/stock/reorder")["lines"].size(), needed ? 1u : 0u);
    json_of(200, "PUT", one + "/record",
            json{{"based_on", 0}, {"record", {{"completed", "2026-01-31"}}}}.dump());
    EXPECT_TRUE(json_of(200, "GET", "/api/stock/reorder")["lines"].empty());
}

TEST_F(StockRoutesTest, TakesACountAsCsv) {
    receive(3);
    const http::test::Headers csv{{"Content-Type", "text/csv; charset=utf-8"}};
    const std::string text = "item,lot,pieces\r\n" + id_ + ",L1,2\r\n" + id_ + ",L2,5\r\n";
    const http::test::Reply counted = ask("POST", "/api/stock/stock.csv", text, csv);
    ASSERT_EQ(counted.status, 200) << counted.body;
    EXPECT_EQ(json::parse(counted.body)["items"][0]["ready"], 7);
    EXPECT_EQ(ask("POST", "/api/stock/stock.csv", "item,lot,pieces\nnone,L1,2\n", csv).status, 400);
    EXPECT_EQ(ask("POST", "/api/stock/stock.csv", "\x01\x02", csv).status, 400);
    EXPECT_EQ(ask("POST", "/api/stock/stock.csv", text).status, 415);
    EXPECT_EQ(ask("POST", "/api/stock/stock.csv", std::string(5 << 20, 'x'), csv).status, 413);
    EXPECT_EQ(json_of(200, "GET", "/api/stock")["items"][0]["ready"], 7);
}

TEST_F(StockRoutesTest, RefusesWhatCannotBe) {
    refuses(400, "PUT", "/api/stock/items/other", json{{"device", device_}}.dump());
    refuses(400, "PUT", "/api/stock/items/" + id_, "{}");
    refuses(400, "PUT", "/api/stock/items/" + id_,
            json{{"device", device_}, {"minimum", "few"}}.dump());
    refuses(400, "POST", "/api/stock/movements", "{}");
    refuses(400, "POST", "/api/stock/movements", R"({"movements":[{"item":1}]})");
    refuses(400, "POST", "/api/stock/movements",
            json{{"movements", {{{"item", id_}, {"kind", "sterilised"}, {"count", 1}}}}}.dump());
    receive(0, 400);
}

}  // namespace
}  // namespace anfract::server
