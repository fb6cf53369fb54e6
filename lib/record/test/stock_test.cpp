#include "anfract/record/stock.h"

#include <gmock/gmock.h>

#include "temporary_record.h"

namespace anfract::record {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

StockItem item(const std::string& id, std::int64_t max_uses, std::int64_t minimum = 0) {
    return {id, {{"id", id}, {"kind", "rotary-file"}, {"max_uses", max_uses}}, minimum};
}

StockMovement received(const std::string& id, std::int64_t count, const std::string& lot = "L1",
                       const std::string& expires = "") {
    return {id, "received", lot, expires, count, "", "", ""};
}

StockMovement other(const std::string& id, const std::string& kind, std::int64_t count,
                    const std::string& lot = "") {
    return {id, kind, lot, "", count, "cycle 17", "", ""};
}

const std::string today = "2026-06-01";

// ---- the arithmetic of one item: closed forms, counted by hand ----

TEST(StockLevel, CountsPiecesOfASingleUseByVisit) {
    const StockItem single = item("s", 1);
    const StockLevel level = level_of(single, {received("s", 6)}, {2, 0, 2}, today);
    EXPECT_EQ(level.pieces, 4);
    EXPECT_EQ(level.ready, 4);
    EXPECT_EQ(level.to_sterilise, 0);
    EXPECT_EQ(level.uses_left, 4);
    // Three visits, at one of which two pieces broke: four pieces.
    EXPECT_EQ(level_of(single, {received("s", 6)}, {3, 2, 4}, today).pieces, 2);
}

TEST(StockLevel, CountsUsesAndCyclesOfWhatIsUsedAgain) {
    const StockItem again = item("r", 4);
    // Five uses of three pieces: one is used up, one has a use behind it.
    const StockLevel used = level_of(again, {received("r", 3)}, {5, 0, 5}, today);
    EXPECT_EQ(used.pieces, 2);
    EXPECT_EQ(used.uses_left, 7);
    EXPECT_EQ(used.to_sterilise, 2);  // never more than there are
    EXPECT_EQ(used.ready, 0);
    const StockLevel clean =
        level_of(again, {received("r", 3), other("r", "sterilised", 5)}, {5, 0, 5}, today);
    EXPECT_EQ(clean.to_sterilise, 0);
    EXPECT_EQ(clean.ready, 2);
    EXPECT_EQ(level_of(again, {received("r", 3)}, {1, 1, 1}, today).pieces, 2);  // broke
}

TEST(StockLevel, TakesFromTheLotThatExpiresFirstAndLeavesOutWhatHasExpired) {
    const std::vector<StockMovement> movements{
        received("s", 5, "late", "2028-01-01"), received("s", 2, "old", "2026-05-31"),
        received("s", 3, "soon", "2026-06-01"), received("s", 1, "none")};
    const StockLevel level = level_of(item("s", 1), movements, {3, 0, 3}, today);
    ASSERT_EQ(level.lots.size(), 3u);  // "old" was used up first
    EXPECT_EQ(level.lots[0].lot, "soon");
    EXPECT_EQ(level.lots[0].pieces, 2);
    EXPECT_FALSE(level.lots[0].expired);  // on its last day
    EXPECT_EQ(level.lots[2].lot, "none");
    EXPECT_EQ(level.pieces, 8);
    const StockLevel later = level_of(item("s", 1), movements, {1, 0, 1}, today);
    EXPECT_EQ(later.expired, 1);
    EXPECT_EQ(later.pieces, 9);
}

TEST(StockLevel, SaysWhenMoreWasUsedThanThereWas) {
    const StockLevel level = level_of(item("s", 1), {received("s", 2)}, {5, 0, 5}, today);
    EXPECT_EQ(level.pieces, 0);
    EXPECT_EQ(level.overdrawn, 3);
}

// ---- the stock ----

class StockTest : public RecordTest {
  protected:
    void SetUp() override {
        RecordTest::SetUp();
        ASSERT_TRUE(stock().put_item(item("single", 1, 5)));
        ASSERT_TRUE(stock().put_item(item("again", 4)));
        ASSERT_TRUE(stock().move({received("single", 6), received("again", 2)}, ""));
    }
    const Stock& stock() const { return record_->stock(); }
    void log(const std::string& id, int number, const std::string& kind, json more) {
        char entry[40];
        std::snprintf(entry, sizeof entry, "00000000-0000-4000-8000-%012d", number);
        json one{{"entry_id", entry}, {"at", "2026-01-31T12:00:00+01:00"}, {"kind", kind}};
        one.update(more);
        const auto stored = record_->log().append(id, {{"entries", {one}}}, "");
        ASSERT_TRUE(stored) << stored.error().sentence();
    }
    StockLevel level(const std::string& id) {
        const auto levels = stock().levels(today);
        for (const StockLevel& one : levels.value()) {
            if (one.item.id == id) return one;
        }
        ADD_FAILURE() << id;
        return {};
    }
    std::string refusal(const StockMovement& movement) {
        const auto moved = stock().move({movement}, "");
        return moved ? "moved" : moved.error().sentence();
    }
};

TEST_F(StockTest, CountsUsesFromTheLog) {
    const std::string id = new_case(), second = new_case();
    log(id, 1, "step-done", {{"device", "single"}, {"canal", "MB"}});
    log(id, 2, "step-done", {{"device", "single"}, {"canal", "DL"}});  // the same visit
    log(id, 3, "step-done", {{"device", "single"}, {"at", "2026-02-07T12:00:00+01:00"}});
    log(second, 4, "step-done", {{"device", "single"}});
    log(second, 5, "device-broken", {{"device", "again"}});
    log(second, 6, "note", {{"device", "again"}});
    EXPECT_EQ(level("single").pieces, 3);
    EXPECT_EQ(level("again").pieces, 1);
    // It was another device; then it was none.
    char first[] = "00000000-0000-4000-8000-000000000004";
    log(second, 7, "correction", {{"corrects", first}, {"device", "again"}});
    EXPECT_EQ(level("single").pieces, 4);
    char then[] = "00000000-0000-4000-8000-000000000007";
    log(second, 8, "correction", {{"corrects", then}});
    EXPECT_EQ(level("again").times_used, 1);
    open();
    EXPECT_EQ(level("single").pieces, 4);
}

TEST_F(StockTest, NeverLetsAPieceOfASingleUseBeUsedAgain) {
    log(new_case(), 1, "step-done", {{"device", "single"}});
    EXPECT_THAT(refusal(other("single", "sterilised", 1)), HasSubstr("must not be used again"));
    EXPECT_EQ(level("single").ready, 5);
}

TEST_F(StockTest, RefusesMovementsThatCannotBe) {
    EXPECT_THAT(refusal(received("none", 1)), HasSubstr("is not in stock"));
    EXPECT_THAT(refusal(received("single", 0)), HasSubstr("count"));
    EXPECT_THAT(refusal(received("single", 1, "L2", "soon")), HasSubstr("no date"));
    EXPECT_THAT(refusal(other("single", "lost", 1)), HasSubstr("lost"));
    EXPECT_THAT(refusal(other("single", "discarded", 7, "L1")), HasSubstr("fewer pieces"));
    EXPECT_THAT(refusal(other("single", "discarded", 1, "L9")), HasSubstr("fewer pieces"));
    EXPECT_THAT(refusal(other("again", "sterilised", 1)), HasSubstr("only 0 pieces"));
    EXPECT_FALSE(stock().put_item({"x", {{"id", "y"}}, 0}));
    // All or none.
    EXPECT_FALSE(stock().move({received("single", 1), received("none", 1)}, ""));
    EXPECT_EQ(level("single").pieces, 6);
}

TEST_F(StockTest, OrdersForTheMinimumAndTheComingPlans) {
    EXPECT_THAT(stock().reorder({}, today).value(), IsEmpty());
    const auto lines =
        stock().reorder({{"single", 4}, {"again", 2}, {"unknown", 9}}, today).value();
    ASSERT_EQ(lines.size(), 1u);
    EXPECT_EQ(lines[0].item.id, "single");
    EXPECT_EQ(lines[0].order, 3);  // 5 + 4 - 6
}

TEST_F(StockTest, GivesTheTrayWhatIsReady) {
    log(new_case(), 1, "step-done", {{"device", "again"}});
    const json tray = stock().tray(today).value();
    ASSERT_EQ(tray["devices"].size(), 2u);
    EXPECT_EQ(tray["devices"][0]["id"], "again");
    EXPECT_EQ(tray["devices"][0]["stock"], 1);
    EXPECT_EQ(tray["devices"][1]["stock"], 6);
}

// ---- CSV: RFC 4180 ----

TEST_F(StockTest, ComesBackFromCsv) {
    ASSERT_TRUE(stock().move(
        {received("single", 2, "a \"quoted\", lot", "2027-01-01"), received("again", 1, "=1+1")},
        ""));
    const std::string text = stock_to_csv(stock().levels(today).value());
    EXPECT_THAT(text, HasSubstr("\"a \"\"quoted\"\", lot\""));
    EXPECT_THAT(text, HasSubstr("\"'=1+1\""));  // no formula for a spreadsheet
    const auto lots = stock_from_csv(text).value();
    ASSERT_EQ(lots.size(), 4u);
    EXPECT_EQ(lots[0].lot, "L1");
    EXPECT_EQ(lots[1].lot, "=1+1");
    EXPECT_EQ(lots[2].lot, "a \"quoted\", lot");
    EXPECT_EQ(lots[2].pieces, 2);
    EXPECT_EQ(lots[2].minimum, 5);
}

TEST_F(StockTest, StandsAtWhatWasCountedAndGoesOnFromThere) {
    ASSERT_TRUE(
        stock().move({received("single", 9, "A", "2027-01-01"), received("again", 2, "B")}, ""));
    // A lot that expires before the others takes over what the log has used up.
    const std::string counted =
        "item,lot,expires,pieces,minimum\r\n"
        "single,N,2026-12-31,4,\r\nsingle,A,,3,7\r\nagain,B,,5,\r\n";
    ASSERT_TRUE(stock().count(stock_from_csv(counted).value(), "ada"));
    const auto levels = stock().levels(today).value();
    const auto lot = [&](const StockLevel& level, const std::string& name) -> std::int64_t {
        for (const StockLot& one : level.lots) {
            if (one.lot == name) return one.pieces;
        }
        return 0;
    };
    EXPECT_EQ(levels[0].item.id, "again");
    EXPECT_EQ(lot(levels[0], "B"), 5);
    EXPECT_EQ(lot(levels[1], "N"), 4);
    EXPECT_EQ(lot(levels[1], "A"), 3);
    EXPECT_EQ(levels[1].item.minimum, 7);
    EXPECT_EQ(stock().movements("again").value().back().author, "ada");
    const std::string text = stock_to_csv(levels);
    // What is exported and taken in again changes nothing.
    const std::size_t before = stock().movements("single").value().size();
    ASSERT_TRUE(stock().count(stock_from_csv(text).value(), "ada"));
    EXPECT_EQ(stock_to_csv(stock().levels(today).value()), text);
    EXPECT_EQ(stock().movements("single").value().size(), before);
}

TEST_F(StockTest, RefusesACountThatCannotBeAndStoresNothingOfIt) {
    ASSERT_TRUE(stock().move({received("single", 9, "A", "2027-01-01")}, ""));
    const std::string before = stock_to_csv(stock().levels(today).value());
    for (const char* wrong :
         {"item,lot,pieces\nsingle,A,3\nnone,A,3\n", "item,lot,pieces\nsingle,A,3\nsingle,A,4\n",
          "item,lot,expires,pieces\nsingle,A,2027-01-02,3\n",
          "item,lot,expires,pieces\nsingle,X,soon,3\n"})
        EXPECT_FALSE(stock().count(stock_from_csv(wrong).value(), "")) << wrong;
    EXPECT_EQ(stock_to_csv(stock().levels(today).value()), before);
}

TEST(StockCsv, RefusesWhatIsNoStockAndNamesTheLine) {
    const auto refusal = [](const std::string& text) {
        const auto read = stock_from_csv(text);
        return read ? std::string("read") : read.error().sentence();
    };
    EXPECT_THAT(refusal(""), HasSubstr("is empty"));
    EXPECT_THAT(refusal("a,b\n"), HasSubstr("'item' and 'pieces'"));
    EXPECT_THAT(refusal("item,pieces\nx,many\n"), HasSubstr("line 2, column 'pieces'"));
    EXPECT_THAT(refusal("item,pieces\nx,1\n,1\n"), HasSubstr("line 3, column 'item'"));
    EXPECT_THAT(refusal("item,pieces\n\"x,1\n"), HasSubstr("quotes"));
    EXPECT_THAT(refusal("item,pieces\nx,-1\n"), HasSubstr("line 2"));
    EXPECT_EQ(refusal("pieces,item\r\n3,x\r\n"), "read");
    EXPECT_EQ(refusal("\xef\xbb\xbfitem;pieces\r\nx;3\r\n"), "read");
}

}  // namespace
}  // namespace anfract::record
