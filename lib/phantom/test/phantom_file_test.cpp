// What is written conforms to DICOM and reads back as what was made. The checks are DCMTK's library
// and tools and dicom3tools' validator, none of them ours.

#include "anfract/phantom/phantom_file.h"

#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmdata/dctk.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <array>
#include <boost/multiprecision/cpp_int.hpp>
#include <cstdio>
#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "anfract/base/json_document.h"
#include "anfract/tooth/tooth_file.h"

namespace anfract {
namespace {

namespace fs = std::filesystem;

struct Outcome {
    int code;
    std::string text;
};

Outcome shell(const std::string& command) {
    FILE* const pipe = popen((command + " 2>&1").c_str(), "r");
    std::string text;
    std::array<char, 4096> buffer{};
    while (const std::size_t n = fread(buffer.data(), 1, buffer.size(), pipe)) {
        text.append(buffer.data(), n);
    }
    const int status = pclose(pipe);
    return {WEXITSTATUS(status), text};
}

class PhantomFile : public testing::Test {
  protected:
    static void SetUpTestSuite() {
        folder = fs::temp_directory_path() / ("anfract-phantom-test-" + std::to_string(getpid()));
        fs::create_directories(folder);
        PhantomOptions options;
        options.kind = "lower-premolar";
        options.seed = 5;
        options.voxel_mm = 0.4;
        phantom = new Phantom(*make_phantom(options, Progress()));
        ASSERT_TRUE(write_phantom(*phantom, folder / "case", false, Progress()).has_value());
    }
    static void TearDownTestSuite() {
        delete phantom;
        fs::remove_all(folder);
    }
    static std::vector<fs::path> slices(const fs::path& scan) {
        std::vector<fs::path> paths;
        for (const auto& entry : fs::directory_iterator(scan)) paths.push_back(entry.path());
        std::sort(paths.begin(), paths.end());
        return paths;
    }

    static fs::path folder;
    static Phantom* phantom;
};
fs::path PhantomFile::folder;
Phantom* PhantomFile::phantom = nullptr;

TEST_F(PhantomFile, SlicesReadBackVoxelForVoxel) {
    const GridGeometry& grid = phantom->volume.geometry;
    const auto paths = slices(folder / "case/scan");
    ASSERT_EQ(paths.size(), static_cast<std::size_t>(grid.size[2]));
    std::set<std::string> uids;
    for (int k = 0; k < grid.size[2]; ++k) {
        DcmFileFormat file;
        ASSERT_TRUE(file.loadFile(paths[static_cast<std::size_t>(k)].c_str()).good());
        DcmDataset& data = *file.getDataset();
        Float64 intercept = 0, slope = 0, position[3] = {0, 0, 0};
        ASSERT_TRUE(data.findAndGetFloat64(DCM_RescaleIntercept, intercept).good());
        ASSERT_TRUE(data.findAndGetFloat64(DCM_RescaleSlope, slope).good());
        const Vec3 expected = grid.to_patient(Vec3(0, 0, k));
        for (unsigned long a = 0; a < 3; ++a) {
            ASSERT_TRUE(data.findAndGetFloat64(DCM_ImagePositionPatient, position[a], a).good());
            EXPECT_NEAR(position[a], expected[static_cast<int>(a)], 1e-8);
        }
        OFString uid;
        data.findAndGetOFString(DCM_SOPInstanceUID, uid);
        uids.insert(uid.c_str());
        const Uint16* pixels = nullptr;
        unsigned long count = 0;
        ASSERT_TRUE(data.findAndGetUint16Array(DCM_PixelData, pixels, &count).good());
        ASSERT_EQ(count, static_cast<unsigned long>(grid.size[0] * grid.size[1]));
        for (unsigned long i = 0; i < count; ++i) {
            const int x = static_cast<int>(i) % grid.size[0],
                      y = static_cast<int>(i) / grid.size[0];
            ASSERT_EQ(slope * pixels[i] + intercept, phantom->volume.grey(x, y, k));
        }
    }
    EXPECT_EQ(uids.size(), paths.size());
}

// Type 1 attributes have a value, type 2 are there: the modules of the CT Image IOD (DICOM PS3.3,
// table A.3-1; C.7.1.1, C.7.2.1, C.7.3.1, C.7.4.1, C.7.5.1, C.7.6.1-3, C.8.2.1, C.11.2, C.12.1).
TEST_F(PhantomFile, HasEveryRequiredAttributeOfACtImage) {
    const std::vector<DcmTagKey> type_1{DCM_StudyInstanceUID,
                                        DCM_Modality,
                                        DCM_SeriesInstanceUID,
                                        DCM_FrameOfReferenceUID,
                                        DCM_PixelSpacing,
                                        DCM_ImageOrientationPatient,
                                        DCM_ImagePositionPatient,
                                        DCM_ImageType,
                                        DCM_SamplesPerPixel,
                                        DCM_PhotometricInterpretation,
                                        DCM_Rows,
                                        DCM_Columns,
                                        DCM_BitsAllocated,
                                        DCM_BitsStored,
                                        DCM_HighBit,
                                        DCM_PixelRepresentation,
                                        DCM_PixelData,
                                        DCM_RescaleIntercept,
                                        DCM_RescaleSlope,
                                        DCM_SOPClassUID,
                                        DCM_SOPInstanceUID,
                                        DCM_WindowCenter,
                                        DCM_WindowWidth,
                                        DCM_PatientPosition};
    const std::vector<DcmTagKey> type_2{DCM_PatientName,
                                        DCM_PatientID,
                                        DCM_PatientBirthDate,
                                        DCM_PatientSex,
                                        DCM_StudyDate,
                                        DCM_StudyTime,
                                        DCM_ReferringPhysicianName,
                                        DCM_StudyID,
                                        DCM_AccessionNumber,
                                        DCM_SeriesNumber,
                                        DCM_PositionReferenceIndicator,
                                        DCM_Manufacturer,
                                        DCM_InstanceNumber,
                                        DCM_SliceThickness,
                                        DCM_KVP,
                                        DCM_AcquisitionNumber};
    DcmFileFormat file;
    ASSERT_TRUE(file.loadFile(slices(folder / "case/scan").front().c_str()).good());
    DcmDataset& data = *file.getDataset();
    for (const DcmTagKey& tag : type_1) {
        EXPECT_TRUE(data.tagExistsWithValue(tag)) << DcmTag(tag).getTagName();
    }
    for (const DcmTagKey& tag : type_2) {
        EXPECT_TRUE(data.tagExists(tag)) << DcmTag(tag).getTagName();
    }
    OFString value;
    data.findAndGetOFString(DCM_SOPClassUID, value);
    EXPECT_EQ(value, UID_CTImageStorage);
    data.findAndGetOFString(DCM_PatientName, value);
    EXPECT_EQ(value, "Invented^Case");
    data.findAndGetOFString(DCM_ImageComments, value);
    EXPECT_EQ(value, "invented data, made by a phantom; not a patient");
}

TEST_F(PhantomFile, PassesTheToolsOfOthers) {
    const std::string scan = (folder / "case/scan").string();
    const std::string one = slices(folder / "case/scan")[10].string();
    EXPECT_EQ(shell("dcmftest " + scan + "/*.dcm").code, 0);
    EXPECT_EQ(shell("dcmdump +E " + one).code, 0);
    EXPECT_EQ(shell("dcm2xml " + one + " /dev/null").code, 0);
    EXPECT_EQ(shell("dcm2pnm " + one + " /dev/null").code, 0);
    // dicom3tools: one image against the IOD, and the series as a whole.
    const Outcome valid = shell("dciodvfy " + one);
    EXPECT_THAT(valid.text, testing::HasSubstr("CTImage"));
    EXPECT_THAT(valid.text, testing::Not(testing::HasSubstr("Error")));
    EXPECT_THAT(valid.text, testing::Not(testing::HasSubstr("Warning")));
    const Outcome series = shell("dcentvfy " + scan + "/*.dcm");
    EXPECT_EQ(series.code, 0) << series.text;
    EXPECT_EQ(series.text, "");
}

// "2.25." and a decimal without leading zeros, at most 64 characters (PS3.5, 9.1 and B.2); a
// version-5 UUID has the version in bits 48-51 and the variant in bits 64-65 from the top (RFC
// 4122, 4.1).
TEST(PhantomUid, IsTheDecimalOfANameBasedUuid) {
    const std::string uid = phantom_uid({}, "series");
    EXPECT_EQ(uid.rfind("2.25.", 0), 0U);
    EXPECT_LE(uid.size(), 64U);
    EXPECT_NE(uid[5], '0');
    const boost::multiprecision::uint128_t number(uid.substr(5));
    EXPECT_EQ((number >> 76) & 0xf, 5);
    EXPECT_EQ((number >> 62) & 0x3, 2);
    EXPECT_EQ(uid, phantom_uid({}, "series"));
    EXPECT_NE(uid, phantom_uid({}, "study"));
    PhantomOptions other;
    other.seed = 2;
    EXPECT_NE(uid, phantom_uid(other, "series"));
}

TEST_F(PhantomFile, TruthFollowsItsSchemaAndHoldsTheTooth) {
    const auto truth = read_document(folder / "case/truth.json", "anfract.truth");
    ASSERT_TRUE(truth.has_value()) << truth.error().sentence();
    EXPECT_EQ((*truth)["kind"], "lower-premolar");
    EXPECT_EQ((*truth)["seed"], 5);
    const auto tooth = tooth_from_json((*truth)["tooth"], "truth.json");
    ASSERT_TRUE(tooth.has_value()) << tooth.error().sentence();
    ASSERT_EQ(tooth->canals.size(), phantom->truth.canals.size());
    for (std::size_t i = 0; i < tooth->canals.size(); ++i) {
        EXPECT_NEAR(tooth->canals[i].depth_to_foramen_mm,
                    phantom->truth.canals[i].depth_to_foramen_mm, 1e-9);
        EXPECT_EQ(tooth->canals[i].samples.size(), phantom->truth.canals[i].samples.size());
    }
    EXPECT_TRUE(tooth->invented);
}

TEST_F(PhantomFile, NeverReplacesAScanUnasked) {
    const Result<void> refused = write_phantom(*phantom, folder / "case", false, Progress());
    ASSERT_FALSE(refused.has_value());
    EXPECT_EQ(refused.error().code, ErrorCode::BadInput);
    EXPECT_THAT(refused.error().sentence(), testing::HasSubstr("to be replaced"));
    fs::create_directories(folder / "kept");
    std::ofstream(folder / "kept/notes.txt") << "mine";
    ASSERT_TRUE(write_phantom(*phantom, folder / "kept", false, Progress()).has_value());
    ASSERT_TRUE(write_phantom(*phantom, folder / "kept", true, Progress()).has_value());
    EXPECT_TRUE(fs::exists(folder / "kept/notes.txt"));
    EXPECT_EQ(slices(folder / "kept/scan").size(), slices(folder / "case/scan").size());
}

TEST_F(PhantomFile, LeavesNothingBehindWhenStopped) {
    Progress progress;
    progress.cancel();
    EXPECT_EQ(write_phantom(*phantom, folder / "stopped", false, progress).error().code,
              ErrorCode::Cancelled);
    EXPECT_EQ(write_phantom(*phantom, "/proc/nowhere", false, Progress()).error().code,
              ErrorCode::Io);
    for (const auto& entry : fs::directory_iterator(folder)) {
        EXPECT_THAT(entry.path().filename().string(), testing::AnyOf("case", "kept"));
    }
}

}  // namespace
}  // namespace anfract
