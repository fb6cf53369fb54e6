#include "anfract/record/treatment_log.h"

#include <gmock/gmock.h>

#include <cstdio>
#include <nlohmann/json.hpp>
#include <thread>

#include "anfract/record/hash.h"
#include "temporary_record.h"

namespace anfract::record {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;

/// A UUID that ends in that number.
std::string uuid(int number) {
    char text[40];
    std::snprintf(text, sizeof text, "00000000-0000-4000-8000-%012d", number);
    return text;
}

json entry(int number, const std::string& kind, json more = json::object()) {
    json made{{"entry_id", uuid(number)}, {"at", "2026-01-31T12:00:00.000+01:00"}, {"kind", kind}};
    made.update(more);
    return made;
}

json batch(const std::vector<json>& entries) { return {{"entries", entries}}; }

class TreatmentLogTest : public RecordTest {
  protected:
    void SetUp() override {
        RecordTest::SetUp();
        id_ = new_case();
    }
    Result<std::vector<json>> append(const std::vector<json>& entries) {
        return record_->log().append(id_, batch(entries), "");
    }
    std::string refusal(const json& document) {
        const auto stored = record_->log().append(id_, document, "");
        return stored ? "stored" : stored.error().sentence();
    }
    std::string id_;
};

TEST_F(TreatmentLogTest, ChainsEntriesInTheOrderOfArrival) {
    ASSERT_TRUE(append({entry(1, "opened"), entry(2, "note", {{"text", "Größe 20 µm"}})}));
    ASSERT_TRUE(append({entry(3, "blocked", {{"canal", "MB"}, {"depth_mm", 17.5}})}));
    open();
    const auto stored = record_->log().entries(id_).value();
    ASSERT_EQ(stored.size(), 3u);
    EXPECT_EQ(stored[0]["previous_sha256"], sha256_hex(id_));
    EXPECT_EQ(stored[2]["previous_sha256"], stored[1]["sha256"]);
    EXPECT_EQ(stored[2]["sequence"], 3);
    EXPECT_EQ(stored[1]["text"], "Größe 20 µm");
    EXPECT_EQ(first_broken_link(id_, stored), -1);
}

TEST_F(TreatmentLogTest, ShowsAnyLaterChange) {
    ASSERT_TRUE(
        append({entry(1, "opened"), entry(2, "note", {{"text", "a"}}), entry(3, "opened")}));
    const auto stored = record_->log().entries(id_).value();
    auto changed = stored;
    changed[1]["text"] = "b";
    EXPECT_EQ(first_broken_link(id_, changed), 1);
    changed = stored;
    changed.erase(changed.begin() + 1);
    EXPECT_EQ(first_broken_link(id_, changed), 1);
    changed = stored;
    std::swap(changed[0], changed[1]);
    EXPECT_EQ(first_broken_link(id_, changed), 0);
    EXPECT_EQ(first_broken_link("0123456789abcdef", stored), 0);  // moved to another case
}

TEST_F(TreatmentLogTest, AcknowledgesAResentEntryAndStoresItOnce) {
    const auto first = append({entry(1, "note", {{"text", "x"}, {"depth_mm", 20}})});
    // The same number written otherwise, a null and a key we do not know do not make it another
    // entry.
    const auto again = append(
        {entry(1, "note", {{"text", "x"}, {"depth_mm", 20.0}, {"canal", nullptr}, {"later", 1}}),
         entry(2, "opened")});
    ASSERT_TRUE(first && again);
    EXPECT_EQ(again->at(0), first->at(0));
    EXPECT_EQ(record_->log().entries(id_).value().size(), 2u);
}

TEST_F(TreatmentLogTest, RefusesOtherContentUnderTheSameIdAndStoresNothing) {
    ASSERT_TRUE(append({entry(1, "note", {{"text", "x"}})}));
    const auto other = append({entry(2, "opened"), entry(1, "note", {{"text", "y"}})});
    ASSERT_FALSE(other);
    EXPECT_EQ(other.error().code, ErrorCode::Conflict);
    EXPECT_THAT(other.error().sentence(), HasSubstr(uuid(1)));
    EXPECT_EQ(record_->log().entries(id_).value().size(), 1u);
}

TEST_F(TreatmentLogTest, RefusesMalformedEntriesInOneSentence) {
    EXPECT_THAT(refusal(json::array()), HasSubstr("is not a JSON object"));
    EXPECT_THAT(refusal({{"entries", "none"}}), HasSubstr("entries"));
    EXPECT_THAT(refusal(batch({{{"kind", "opened"}}})), HasSubstr("entries[0]"));
    EXPECT_THAT(refusal(batch({entry(1, "exploded")})), HasSubstr("kind"));
    EXPECT_THAT(refusal(batch({entry(1, "note", {{"entry_id", "1"}})})), HasSubstr("entry_id"));
    EXPECT_THAT(refusal(batch({entry(1, "note", {{"at", "2026-02-30T00:00:00Z"}})})),
                HasSubstr("no date"));
    EXPECT_THAT(refusal(batch({entry(1, "depth-measured", {{"canal", "MB"}})})),
                HasSubstr("depth_mm"));
    EXPECT_THAT(refusal(batch({entry(1, "depth-measured", {{"canal", "MB"}, {"depth_mm", -1}})})),
                HasSubstr("depth_mm"));
    EXPECT_THAT(refusal(batch({entry(1, "device-broken")})), HasSubstr("device"));
    EXPECT_THAT(refusal(batch({entry(1, "correction")})), HasSubstr("corrects"));
    EXPECT_THAT(refusal(batch({entry(1, "correction", {{"corrects", uuid(9)}})})),
                HasSubstr("not in the log"));
    EXPECT_THAT(refusal(batch({entry(1, "note", {{"text", std::string(5000, 'x')}})})),
                HasSubstr("text"));
    EXPECT_EQ(record_->log().entries(id_).value().size(), 0u);
    EXPECT_FALSE(record_->log().append("0123456789abcdef", batch({entry(1, "opened")}), ""));
}

TEST_F(TreatmentLogTest, TakesTheNewestMeasuredDepthOfEachCanal) {
    const auto measured = [](int number, const char* canal, double depth_mm, const char* at) {
        return entry(number, "depth-measured",
                     {{"canal", canal}, {"depth_mm", depth_mm}, {"at", at}});
    };
    ASSERT_TRUE(append({measured(1, "MB", 19.0, "2026-01-31T12:00:00+01:00"),
                        measured(2, "MB", 19.5, "2026-01-31T11:30:00Z"),
                        // measured before, but sent late by another seat
                        measured(3, "MB", 18.0, "2026-01-31T11:10:00Z"),
                        measured(4, "DL", 21.0, "2026-01-31T12:00:00Z")}));
    using Depths = std::map<std::string, double>;
    const auto depths = [&] { return measured_depths_mm(record_->log().entries(id_).value()); };
    EXPECT_EQ(depths(), (Depths{{"MB", 19.5}, {"DL", 21.0}}));
    ASSERT_TRUE(append({entry(5, "correction", {{"corrects", uuid(2)}, {"depth_mm", 19.25}})}));
    EXPECT_EQ(depths(), (Depths{{"MB", 19.25}, {"DL", 21.0}}));
    // Taken back: the one before it holds again, also when the correction itself is corrected.
    ASSERT_TRUE(append({entry(6, "correction", {{"corrects", uuid(5)}}),
                        entry(7, "correction", {{"corrects", uuid(4)}})}));
    EXPECT_EQ(depths(), (Depths{{"MB", 18.0}}));
}

TEST_F(TreatmentLogTest, LosesNothingWhenManyWriteAtOnce) {
    std::vector<std::thread> seats;
    for (int seat = 0; seat < 4; ++seat) {
        seats.emplace_back([this, seat] {
            for (int i = 0; i < 10; ++i)
                EXPECT_TRUE(append({entry(100 * seat + i, "step-done", {{"step", i}})}));
        });
    }
    for (std::thread& seat : seats) seat.join();
    const auto stored = record_->log().entries(id_).value();
    EXPECT_EQ(stored.size(), 40u);
    EXPECT_EQ(first_broken_link(id_, stored), -1);
}

}  // namespace
}  // namespace anfract::record
