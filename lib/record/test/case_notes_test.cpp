#include "anfract/record/case_notes.h"

#include <gmock/gmock.h>

#include <thread>

#include "temporary_record.h"

namespace anfract::record {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;

class CaseNotesTest : public RecordTest {
  protected:
    void SetUp() override {
        RecordTest::SetUp();
        id_ = new_case();
    }
    Result<CaseNotes::Saved> save(std::int64_t based_on, json notes) {
        return record_->notes().save(id_, based_on, std::move(notes), "seat");
    }
    std::string id_;
};

TEST_F(CaseNotesTest, KeepsEveryVersion) {
    EXPECT_EQ(record_->notes().find(id_)->version, 0);
    ASSERT_TRUE(save(0, {{"patient", {{"name", "Invented Person"}}}}));
    ASSERT_TRUE(save(1, {{"patient", {{"name", "Invented Person"}}}, {"completed", "2026-01-31"}}));
    open();
    EXPECT_EQ(record_->notes().find(id_)->version, 2);
    EXPECT_EQ(record_->notes().find(id_)->author, "seat");
    EXPECT_FALSE(record_->notes().find(id_, 1)->notes.contains("completed"));
    EXPECT_FALSE(record_->notes().find(id_, 3));
    EXPECT_EQ(record_->notes().versions(id_)->size(), 2u);
    EXPECT_EQ(record_->cases().list("invented person").value().size(), 1u);
}

TEST_F(CaseNotesTest, GivesBothSidesWhenSomeoneElseWasFirst) {
    ASSERT_TRUE(save(0, {{"prognosis", "good"}}));
    const auto late = save(0, {{"prognosis", "fair"}});
    ASSERT_TRUE(late);
    const auto* conflict = std::get_if<NotesConflict>(&*late);
    ASSERT_NE(conflict, nullptr);
    EXPECT_EQ(conflict->theirs.version, 1);
    EXPECT_EQ(conflict->theirs.notes["prognosis"], "good");
    EXPECT_EQ(record_->notes().find(id_)->notes["prognosis"], "good");
    // The same once more, as when an answer was lost, is no conflict.
    const auto again = save(0, {{"prognosis", "good"}});
    ASSERT_TRUE(again && std::holds_alternative<NotesVersion>(*again));
    EXPECT_EQ(std::get<NotesVersion>(*again).version, 1);
}

TEST_F(CaseNotesTest, RefusesWhatTheFormatDoesNotKnowAndKeepsNothing) {
    const auto refusal = [&](json notes) {
        const auto saved = save(0, std::move(notes));
        return saved ? std::string("saved") : saved.error().sentence();
    };
    EXPECT_THAT(refusal(json::array()), HasSubstr("not a JSON object"));
    EXPECT_THAT(refusal({{"diagnosis", {{"pulpal", "toothache"}}}}), HasSubstr("pulpal"));
    EXPECT_THAT(refusal({{"diagnosis",
                          {{"icd10",
                            {"K04"
                             "."}}}}}),
                HasSubstr("icd10"));
    EXPECT_THAT(refusal({{"recalls", {{{"date", "2027-01-31"}, {"periapical_index", 6}}}}}),
                HasSubstr("periapical_index"));
    EXPECT_THAT(refusal({{"completed", "31.1.2026"}}), HasSubstr("completed"));
    EXPECT_EQ(record_->notes().find(id_)->version, 0);
    EXPECT_FALSE(record_->notes().save("0123456789abcdef", 0, json::object(), ""));
}

TEST_F(CaseNotesTest, LosesNoUpdateWhenSeatsMeet) {
    const auto add_one = [this](int seat) {
        for (int done = 0; done < 5;) {
            NotesVersion now = record_->notes().find(id_).value();
            now.notes["instructions"].push_back("seat " + std::to_string(seat));
            const auto saved = save(now.version, now.notes);
            ASSERT_TRUE(saved) << saved.error().sentence();
            if (std::holds_alternative<NotesVersion>(*saved)) ++done;
        }
    };
    std::thread first(add_one, 1), second(add_one, 2);
    first.join();
    second.join();
    EXPECT_EQ(record_->notes().find(id_)->notes["instructions"].size(), 10u);
    EXPECT_EQ(record_->notes().find(id_)->version, 10);
}

}  // namespace
}  // namespace anfract::record
