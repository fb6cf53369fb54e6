#include "anfract/record/pseudonym.h"

#include <gmock/gmock.h>

#include <nlohmann/json.hpp>

#include "anfract/base/json_document.h"
#include "temporary_record.h"

namespace anfract::record {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::Not;

/// Every place of the format that takes free text holds the patient's name.
json full_of_the_name() {
    const std::string name = "Petra Mustermann-Erfunden";
    return {
        {"format", "anfract.case"},
        {"version", 1},
        {"patient", {{"name", name}, {"reference", name}, {"born", "1980-02-29"}}},
        {"referral",
         {{"from", name},
          {"address", name},
          {"received", "2026-01-02"},
          {"question", name},
          {"radiographs", {name}}}},
        {"complaint", {{"text", name}, {"since", name}}},
        {"tests",
         {{{"test", "cold"}, {"tooth", "36"}, {"result", name}},
          {{"test", "bite"}, {"tooth", name}, {"result", name}}}},
        {"diagnosis", {{"pulpal", "pulp-necrosis"}, {"icd10", {"K04.1"}}, {"text", name}}},
        {"difficulty", {{"factors", {{{"factor", "trauma"}, {"grade", "high"}, {"text", name}}}}}},
        {"consent", {{"given", "2026-01-30"}, {"by", name}, {"points", {name}}}},
        {"materials", {{{"what", name}, {"use", "sealer"}, {"lot", name}}}},
        {"events", {{{"kind", "deviation"}, {"text", name}, {"canal", "MB"}}}},
        {"fillings", {{{"canal", "MB"}, {"from_apex_mm", 0.5}}, {{"canal", name}}}},
        {"completed", "2026-01-31"},
        {"restoration", {{"temporary", name}, {"done", "2026-02-28"}}},
        {"instructions", {name}},
        {"prognosis", name},
        {"recalls",
         {{{"date", "2027-01-31"}, {"periapical_index", 2}, {"symptoms", false}, {"text", name}}}}};
}

TEST(Pseudonym, LeavesNoFreeTextAndKeepsTermsNumbersAndIntervals) {
    Pseudonym who = new_pseudonym();
    who.days_earlier = 400;
    const json notes = full_of_the_name();
    ASSERT_TRUE(parse_document(notes.dump(), "anfract.case", "test"));
    const json result = pseudonymised_notes(notes, who);
    EXPECT_TRUE(parse_document(result.dump(), "anfract.case", "test"));
    const std::string text = result.dump();
    for (const char* part : {"Mustermann", "Erfunden", "Petra", "1980", "2026-01", "2027-01"})
        EXPECT_THAT(text, Not(HasSubstr(part)));
    EXPECT_EQ(result["patient"], (json{{"reference", who.name}}));
    EXPECT_EQ(result["diagnosis"]["pulpal"], "pulp-necrosis");
    EXPECT_EQ(result["diagnosis"]["icd10"][0], "K04.1");
    EXPECT_EQ(result["tests"][0], (json{{"test", "cold"}, {"tooth", "36"}, {"result", ""}}));
    EXPECT_EQ(result["fillings"][0], (json{{"canal", "MB"}, {"from_apex_mm", 0.5}}));
    EXPECT_EQ(result["materials"][0]["use"], "sealer");
    EXPECT_EQ(result["recalls"][0]["periapical_index"], 2);
    // The time between two dates is that of before: both are 400 days earlier by the calendar.
    EXPECT_EQ(result["completed"], "2024-12-27");
    EXPECT_EQ(result["recalls"][0]["date"], "2025-12-27");
}

TEST(Pseudonym, IsAnotherEachTime) {
    const Pseudonym one = new_pseudonym(), two = new_pseudonym();
    EXPECT_NE(one.name, two.name);
    for (const Pseudonym& who : {one, two}) {
        EXPECT_GE(who.days_earlier, 365);
        EXPECT_LE(who.days_earlier, 3652);
    }
}

class PseudonymousLog : public RecordTest {};

TEST_F(PseudonymousLog, KeepsWhatWasDoneAndNotWhoSaidIt) {
    const std::string id = new_case();
    const std::string first = "3f2504e0-4f89-41d3-9a0c-0305e82c3301",
                      second = "3f2504e0-4f89-41d3-9a0c-0305e82c3302";
    const auto stored = record_->log().append(id,
                                              {{"entries",
                                                {{{"entry_id", first},
                                                  {"at", "2026-01-31T12:00:00.000+01:00"},
                                                  {"kind", "depth-measured"},
                                                  {"canal", "MB"},
                                                  {"depth_mm", 19.5},
                                                  {"text", "Petra"}},
                                                 {{"entry_id", second},
                                                  {"at", "2026-01-31T12:00:30.000+01:00"},
                                                  {"kind", "correction"},
                                                  {"corrects", first},
                                                  {"depth_mm", 19.0},
                                                  {"step", "Petra"}}}}},
                                              "ada");
    ASSERT_TRUE(stored) << stored.error().sentence();
    const json result = pseudonymised_log(record_->log().entries(id).value(), {"P-1", 31});
    EXPECT_TRUE(parse_document(result.dump(), "anfract.log", "test"));
    for (const char* part : {"Petra", "ada", "sha256", "received", "3f2504e0"})
        EXPECT_THAT(result.dump(), Not(HasSubstr(part)));
    EXPECT_EQ(result["entries"][0]["at"], "2025-12-31T11:00:00.000Z");
    EXPECT_EQ(result["entries"][1]["corrects"], result["entries"][0]["entry_id"]);
    EXPECT_EQ(measured_depths_mm(result["entries"].get<std::vector<json>>()).at("MB"), 19.0);
}

}  // namespace
}  // namespace anfract::record
