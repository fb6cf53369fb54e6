// Whether the notes of a case and its scan tell of the same patient.

#include "anfract/server/patient_check.h"

#include "workspace_fixture.h"

namespace anfract::server {
namespace {

using nlohmann::json;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

std::vector<std::string> differences(const std::string& in_notes, const std::string& in_scan) {
    DicomStudy study;
    study.patient_name = in_scan;
    return patient_differences({{"patient", {{"name", in_notes}}}}, study);
}

TEST(PatientCheck, NamesAgreeInAnyOrderAndCase) {
    // Family name, given name, middle name, prefix, suffix: DICOM PS3.5, 6.2.1.2.
    EXPECT_THAT(differences("Inventa Mustermann", "Mustermann^Inventa"), IsEmpty());
    EXPECT_THAT(differences("Dr. Inventa Mustermann", "MUSTERMANN^INVENTA"), IsEmpty());
    EXPECT_THAT(differences("Mustermann", "Mustermann^Inventa^^Dr."), IsEmpty());
    EXPECT_THAT(differences("Jörg Öztürk-Müller", "ÖZTÜRK-MÜLLER^JÖRG"), IsEmpty());
    EXPECT_THAT(differences("山田 太郎", "Yamada^Tarou=山田^太郎=やまだ^たろう"), IsEmpty());
    EXPECT_THAT(differences("", "Mustermann^Inventa"), IsEmpty());
    EXPECT_THAT(differences("Inventa Mustermann", ""), IsEmpty());
    EXPECT_THAT(differences("Inventa Mustermann", "^^"), IsEmpty());
}

TEST(PatientCheck, SaysWhoTheScanNames) {
    EXPECT_THAT(differences("Inventa Mustermann", "Musterfrau^Inventa"),
                ElementsAre("The scan names another patient than the notes: Inventa Musterfrau, "
                            "not Inventa Mustermann. Check whose scan this is before anything is "
                            "done or given out."));
    EXPECT_EQ(differences("Inventa Mustermann", "\xff\xfe").size(), 0u);  // no name at all
    EXPECT_EQ(differences("Ana", "Anna").size(), 1u);
}

TEST(PatientCheck, SaysWhenTheDateOfBirthIsAnother) {
    DicomStudy study;
    study.birth_date = "19700131";
    const auto told = [&](const std::string& born) {
        return patient_differences({{"patient", {{"born", born}}}}, study);
    };
    EXPECT_THAT(told("1970-01-31"), IsEmpty());
    EXPECT_THAT(told(""), IsEmpty());
    EXPECT_THAT(told("1970-01-30"), ElementsAre(HasSubstr("1970-01-31, not 1970-01-30.")));
    study.birth_date = "soon";
    EXPECT_THAT(told("1970-01-30"), IsEmpty());
}

TEST_F(WorkspaceTest, WarnsWhenTheNotesNameAnotherPatientThanTheScanAndRefusesNothing) {
    std::string id;
    {
        const auto record =
            record::Record::open(record::RecordPlace::below(root_ / "data")).value();
        const std::string scan = "00112233445566ee";
        ASSERT_TRUE(record->scans().add(
            {scan, "2026-01-31T12:00:00Z",
             json{{"study", {{"patient_name", "Musterfrau^Inventa"}, {"birth_date", 7}}}}.dump(),
             "scan.zip", ""}));
        id = record->cases()
                 .add({"", "", scan, "36", "practice", true},
                      {"tooth", hand_made_tooth().dump(), "tooth.json"}, "")
                 ->id;
    }
    const std::string address = "/api/cases/" + id + "/record";
    EXPECT_THAT(json_of(200, "GET", address)["findings"]["patient"], IsEmpty());
    json_of(
        200, "PUT", address,
        json{{"based_on", 0}, {"record", {{"patient", {{"name", "Inventa Mustermann"}}}}}}.dump());
    const json told = json_of(200, "GET", address)["findings"]["patient"];
    ASSERT_EQ(told.size(), 1u);
    EXPECT_THAT(told[0].get<std::string>(), HasSubstr("Inventa Musterfrau"));
}

}  // namespace
}  // namespace anfract::server
