#include "anfract/record/access_trail.h"

#include <gmock/gmock.h>

#include <thread>

#include "anfract/record/archive.h"
#include "anfract/record/hash.h"
#include "temporary_record.h"

namespace anfract::record {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

class AccessTrailTest : public RecordTest {
  protected:
    void add(const std::string& account, const std::string& what, const std::string& subject) {
        Access line;
        line.account = account;
        line.what = what;
        line.subject = subject;
        ASSERT_TRUE(record_->access().add({line}));
    }
};

TEST_F(AccessTrailTest, TellsWhoLookedAtWhat) {
    add("ada", "sign-in", "");
    add("ada", "GET /api/cases/{id}", "aa");
    add("ben", "GET /api/cases/{id}", "bb");
    const auto all = record_->access().lines().value();
    ASSERT_EQ(all.size(), 3u);
    EXPECT_EQ(all.front().subject, "bb");  // newest first
    EXPECT_EQ(all.back().sequence, 1);
    EXPECT_EQ(record_->access().lines("ada").value().size(), 2u);
    EXPECT_EQ(record_->access().lines("ada", "aa").value().size(), 1u);
    EXPECT_EQ(record_->access().lines("", "", 2).value().size(), 2u);
}

TEST_F(AccessTrailTest, ShowsAChangeOrAGap) {
    for (int i = 0; i < 5; ++i) add("ada", "look", std::to_string(i));
    EXPECT_EQ(record_->access().first_broken().value(), 0);
    // RFC 8785 and FIPS 180-4 by hand: the text that the first line is the hash of.
    const Access first = record_->access().lines("", "0").value().at(0);
    EXPECT_EQ(first.sha256,
              sha256_hex(R"({"account":"ada","at":")" + first.at + R"(","previous_sha256":")" +
                         sha256_hex("access") + R"(","sequence":1,"subject":"0","what":"look"})"));
    ASSERT_TRUE(change_database("UPDATE access_lines SET account = 'ben' WHERE sequence = 3"));
    EXPECT_EQ(record_->access().first_broken().value(), 3);
    EXPECT_THAT(check(*record_).value().problems, ElementsAre(HasSubstr("access trail")));
    ASSERT_TRUE(
        change_database("UPDATE access_lines SET account = 'ada' WHERE sequence = 3;"
                        "DELETE FROM access_lines WHERE sequence = 2"));
    EXPECT_EQ(record_->access().first_broken().value(), 2);
}

TEST_F(AccessTrailTest, LosesNothingWhenSeveralWriteAtOnce) {
    std::vector<std::thread> writers;
    for (int w = 0; w < 4; ++w) {
        writers.emplace_back([&, w] {
            for (int i = 0; i < 10; ++i) add("w" + std::to_string(w), "look", "x");
        });
    }
    for (std::thread& writer : writers) writer.join();
    EXPECT_EQ(record_->access().lines().value().size(), 40u);
    EXPECT_EQ(record_->access().first_broken().value(), 0);
}

}  // namespace
}  // namespace anfract::record
