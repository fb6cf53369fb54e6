#include "anfract/exchange/dicom_scan.h"

#include <gdcmAnonymizer.h>
#include <gdcmReader.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <stdlib.h>

#include <cstdio>
#include <set>

#include "anfract/scan/read_scan.h"

namespace anfract {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;
using ::testing::Not;

class PseudonymousSeries : public testing::Test {
  protected:
    void SetUp() override {
        std::string name = (fs::temp_directory_path() / "anfract-scan-XXXXXX").string();
        ASSERT_NE(::mkdtemp(name.data()), nullptr);
        folder_ = name;
        volume_.geometry.size = {7, 6, 5};
        volume_.geometry.spacing_mm = Vec3(0.2, 0.25, 0.3);
        volume_.geometry.origin_P = Vec3(-12.5, 3.25, 40);
        volume_.slope = 1;
        volume_.intercept = -1000;
        volume_.series_uid = "1.2.826.0.1.3680043.2.1.99999";
        volume_.voxels = Voxels(volume_.geometry.voxel_count());
        for (std::size_t i = 0; i < volume_.voxels.size(); ++i)
            volume_.voxels.data()[i] = static_cast<std::int16_t>(i * 977 - 30000);
        ASSERT_TRUE(write_pseudonymous_scan(volume_, "P-0011223344556677", folder_, Progress()));
    }
    void TearDown() override { fs::remove_all(folder_); }

    static std::string output_of(const std::string& command) {
        std::string text;
        FILE* const pipe = ::popen((command + " 2>&1").c_str(), "r");
        char part[4096];
        for (std::size_t n = 0; (n = std::fread(part, 1, sizeof part, pipe)) > 0;)
            text.append(part, n);
        ::pclose(pipe);
        return text;
    }

    fs::path folder_;
    Volume volume_;
};

TEST_F(PseudonymousSeries, IsTheSameScan) {
    const auto back = open_scan(folder_, {}, Progress());
    ASSERT_TRUE(back) << back.error().sentence();
    EXPECT_EQ(back->volume.geometry.size, volume_.geometry.size);
    EXPECT_TRUE(back->volume.geometry.origin_P.isApprox(volume_.geometry.origin_P, 1e-9));
    for (int k = 0; k < 5; ++k) {
        for (int j = 0; j < 6; ++j) {
            for (int i = 0; i < 7; ++i)
                ASSERT_EQ(back->volume.grey(i, j, k), volume_.grey(i, j, k));
        }
    }
    EXPECT_NE(back->volume.series_uid, volume_.series_uid);
}

// Against the list of the profile as another library has it: GDCM, after DICOM PS3.15, Table E.1-1.
TEST_F(PseudonymousSeries, HoldsNothingThatTheProfileTakesOutOrReplaces) {
    // Those whose value is a new identifier, a pseudonym or nothing, as the profile asks of them.
    const std::set<std::pair<unsigned, unsigned>> replaced{
        {0x0008, 0x0018}, {0x0020, 0x000d}, {0x0020, 0x000e}, {0x0020, 0x0052},
        {0x0002, 0x0003}, {0x0010, 0x0010}, {0x0010, 0x0020}};
    const auto listed =
        gdcm::Anonymizer::GetBasicApplicationLevelConfidentialityProfileAttributes();
    ASSERT_GT(listed.size(), 40u);
    gdcm::Reader reader;
    reader.SetFileName((folder_ / "slice0001.dcm").c_str());
    ASSERT_TRUE(reader.Read());
    const gdcm::DataSet& data = reader.GetFile().GetDataSet();
    for (const gdcm::Tag& tag : listed) {
        if (replaced.contains({tag.GetGroup(), tag.GetElement()})) continue;
        if (!data.FindDataElement(tag)) continue;
        EXPECT_TRUE(data.GetDataElement(tag).IsEmpty()) << tag;
    }
}

TEST_F(PseudonymousSeries, SaysWhatWasDoneAndFollowsTheStandard) {
    const std::string dump = output_of("dcmdump " + (folder_ / "slice0003.dcm").string());
    EXPECT_THAT(dump, HasSubstr("PatientIdentityRemoved"));
    EXPECT_THAT(dump, HasSubstr("[113100]"));  // PS3.16, CID 7050
    EXPECT_THAT(dump, HasSubstr("[P-0011223344556677]"));
    EXPECT_THAT(dump, Not(HasSubstr(volume_.series_uid)));
    // dicom3tools checks a file against the modules of its IOD.
    const std::string verdict = output_of("dciodvfy " + (folder_ / "slice0003.dcm").string());
    EXPECT_THAT(verdict, HasSubstr("CTImage"));
    EXPECT_THAT(verdict, Not(HasSubstr("Error")));
}

}  // namespace
}  // namespace anfract
