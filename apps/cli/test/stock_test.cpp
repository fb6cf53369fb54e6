// The stock from the command line.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>

#include "anfract/record/record.h"
#include "command_line.h"

namespace anfract::cli {
namespace {

using testing::HasSubstr;

class StockCommand : public testing::Test {
  protected:
    void SetUp() override {
        std::filesystem::create_directories(scratch_.path() / "data");
        ASSERT_TRUE(record::Record::open(record::RecordPlace::below(scratch_.path() / "data")));
    }
    Outcome run(const std::string& arguments) const {
        return shell(scratch_, "$ANFRACT stock " + arguments + " --data $D/data");
    }
    Scratch scratch_;
};

TEST_F(StockCommand, AddsReceivesCountsOrdersAndExports) {
    ASSERT_EQ(run("add --minimum 3").code, 0);
    const std::string list = run("list").out;
    ASSERT_GT(std::count(list.begin(), list.end(), '\n'), 2);
    const std::string line = list.substr(list.find('\n') + 1);
    const std::string first = line.substr(0, line.find('\n'));
    const std::string id = first.substr(first.rfind(' ') + 1);
    ASSERT_EQ(run("receive " + id + " 2 --lot L1 --expires 2099-01-31").code, 0);
    EXPECT_THAT(run("reorder").out, HasSubstr("order 1  (have 2, minimum 3, plans need 0)  " + id));
    const Outcome kept = run("export --out $D/stock.csv");
    ASSERT_EQ(kept.code, 0) << kept.err;
    shell(scratch_, "sed -i 's/,2099-01-31,2,/,2099-01-31,7,/' $D/stock.csv");
    ASSERT_EQ(run("import $D/stock.csv").code, 0);
    EXPECT_THAT(run("export").out, HasSubstr("\"L1\",2099-01-31,7,3"));
    EXPECT_EQ(run("discard " + id + " 1 --lot L1 --note bent").code, 0);
    EXPECT_THAT(run("export").out, HasSubstr("\"L1\",2099-01-31,6,3"));
}

TEST_F(StockCommand, SaysThatALotHasExpiredAndNeverHasItReady) {
    ASSERT_EQ(run("add --device hand-015-25").code, 0);
    EXPECT_EQ(run("receive hand-015-25 1 --lot L1 --expires 2099-01-31").err, "");
    const Outcome late = run("receive hand-015-25 2 --lot L0 --expires 2020-01-31");
    EXPECT_EQ(late.code, 0);
    EXPECT_THAT(late.err, HasSubstr("expired on 2020-01-31"));
    // pieces, ready, expired
    EXPECT_THAT(run("list").out, testing::ContainsRegex(" 1 +1 +2 .* hand-015-25"));
}

TEST_F(StockCommand, RefusesInOneSentence) {
    EXPECT_THAT(run("add --device none").err, HasSubstr("is not in the tray"));
    EXPECT_THAT(run("receive none 1").err, HasSubstr("is not in stock"));
    EXPECT_THAT(run("import $D/none.csv").err, HasSubstr("none.csv"));
    shell(scratch_, "printf 'item,pieces\\nx,many\\n' > $D/bad.csv");
    EXPECT_THAT(run("import $D/bad.csv").err, HasSubstr("bad.csv, line 2"));
}

}  // namespace
}  // namespace anfract::cli
