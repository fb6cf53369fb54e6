#include "anfract/exchange/dicom_objects.h"

#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmfg/fgpixmsr.h>
#include <dcmtk/dcmfg/fgplanpo.h>
#include <dcmtk/dcmseg/segdoc.h>
#include <dcmtk/dcmseg/segment.h>
#include <dcmtk/dcmseg/segutils.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <memory>
#include <numbers>
#include <thread>

#include "anfract/plan/cautions.h"
#include "anfract/plan/plan_file.h"
#include "dicom_fixture.h"

extern char** environ;

namespace anfract {
namespace {

namespace fs = std::filesystem;
using namespace test;
using ::testing::HasSubstr;
using ::testing::Not;

TEST_F(DicomObjects, HoldTheFiguresAsDsrdumpReadsThem) {
    write(someone);
    const Printed report = print_of("dsrdump +Pl " + (folder_ / "measurements.dcm").string());
    EXPECT_TRUE(report.good) << report.text;
    EXPECT_THAT(report.text, HasSubstr("Imaging Measurement Report"));
    EXPECT_THAT(report.text, HasSubstr("UNVERIFIED"));
    char depth[64];
    std::snprintf(depth, sizeof depth, "=\"%.6g\" (mm,UCUM", plan_->canals[0].depth_to_foramen_mm);
    EXPECT_THAT(report.text, HasSubstr(depth));
    EXPECT_THAT(report.text, HasSubstr(plan_cautions().front()));
}

// dciodvfy of dicom3tools checks objects against the definitions of DICOM PS3.3.
TEST_F(DicomObjects, AreWhatTheStandardDefines) {
    write(someone);
    for (const char* name : names) {
        const Printed verdict = print_of("dciodvfy " + (folder_ / name).string());
        EXPECT_THAT(verdict.text, Not(HasSubstr("Error"))) << name << "\n" << verdict.text;
    }
}

TEST_F(DicomObjects, HoldTheLetterByteForByte) {
    write(someone);
    const std::string file = (folder_ / "letter.dcm").string();
    EXPECT_THAT(print_of("dcmdump +P EncapsulatedDocumentLength " + file).text, HasSubstr("UL 19"));
    const Printed back = print_of("dcm2pdf " + file + " " + (folder_ / "back.pdf").string());
    EXPECT_TRUE(back.good) << back.text;
    std::ifstream pdf(folder_ / "back.pdf", std::ios::binary);
    const std::string bytes(std::istreambuf_iterator<char>(pdf), {});
    EXPECT_EQ(bytes, letter);
    const std::string head = print_of("dcmdump " + file).text;
    for (const char* part : {"Invented^Case", "INVENTED-1", "19900203", "[1.2.3.4]", "030405"})
        EXPECT_THAT(head, HasSubstr(part));
}

/// Frames and segments of a Segmentation as dcmtk's own reader finds them.
TEST_F(DicomObjects, HoldEachCanalAsVoxelsOfItsVolume) {
    write(someone);
    DcmSegmentation* read = nullptr;
    ASSERT_TRUE(DcmSegmentation::loadFile((folder_ / "canals.dcm").c_str(), read).good());
    const std::unique_ptr<DcmSegmentation> object(read);
    ASSERT_EQ(object->getNumberOfSegments(), 1u);
    OFString label, frame_uid;
    object->getSegment(1)->getSegmentLabel(label);
    EXPECT_EQ(label, plan_->tooth.canals[0].name.c_str());
    object->getFrameOfReference().getFrameOfReferenceUID(frame_uid);
    EXPECT_EQ(frame_uid, "1.2.3.5");
    OFBool shared = OFFalse;
    FGBase* group = object->getFunctionalGroups().get(0, DcmFGTypes::EFG_PIXELMEASURES, shared);
    Float64 spacing_mm = 0;
    ASSERT_TRUE(dynamic_cast<FGPixelMeasures&>(*group).getPixelSpacing(spacing_mm).good());

    std::size_t voxels = 0;
    Vec3 middle(0, 0, 0);
    DcmFileFormat file;
    ASSERT_TRUE(file.loadFile((folder_ / "canals.dcm").c_str()).good());
    Uint16 rows = 0, columns = 0;
    file.getDataset()->findAndGetUint16(DCM_Rows, rows);
    file.getDataset()->findAndGetUint16(DCM_Columns, columns);
    for (std::size_t f = 0; f < object->getNumberOfFrames(); ++f) {
        const std::unique_ptr<DcmIODTypes::Frame> pixels(
            DcmSegUtils::unpackBinaryFrame(object->getFrame(f), rows, columns));
        group =
            object->getFunctionalGroups().get(Uint32(f), DcmFGTypes::EFG_PLANEPOSPATIENT, shared);
        Float64 x = 0, y = 0, z = 0;
        dynamic_cast<FGPlanePosPatient&>(*group).getImagePositionPatient(x, y, z);
        const Vec3 corner(x, y, z);
        for (std::size_t i = 0; i < std::size_t(rows) * columns; ++i) {
            if (pixels->pixData[i] == 0) continue;
            ++voxels;
            middle += corner + spacing_mm * Vec3(double(i % columns), double(i / columns), 0);
        }
    }
    // Closed form: a straight canal of 12 mm and 0.4 mm is a cylinder of pi / 4 * 0.4^2 * 12 mm3. A
    // disc of four voxels across holds within 10 % of its area, and each end is half a voxel off.
    const double volume_mm3 = double(voxels) * std::pow(spacing_mm, 3);
    EXPECT_NEAR(volume_mm3 / (std::numbers::pi / 4 * 0.4 * 0.4 * 12), 1, 0.1);
    // Its centroid is the middle of the canal, to half a voxel.
    const Canal& canal = plan_->tooth.canals[0];
    EXPECT_LT((middle / double(voxels) - (canal.orifice_P + canal.foramen_P) / 2).norm(),
              0.5 * spacing_mm);
}

TEST_F(DicomObjects, HoldPicturesPixelForPixel) {
    write(someone);
    const Printed made = print_of("dcm2pnm " + (folder_ / "ruler.dcm").string() + " " +
                                  (folder_ / "ruler.ppm").string());
    EXPECT_TRUE(made.good) << made.text;
    std::ifstream file(folder_ / "ruler.ppm", std::ios::binary);
    const std::string bytes(std::istreambuf_iterator<char>(file), {});
    EXPECT_THAT(bytes, ::testing::EndsWith(picture().rgb));
    DicomPicture wrong = picture();
    wrong.rgb.pop_back();
    EXPECT_FALSE(dicom_objects(*plan_, someone, letter, {wrong}));
}

TEST_F(DicomObjects, AreTheSameForTheSamePlan) {
    const auto one = dicom_objects(*plan_, someone, letter, {picture()});
    const auto two = dicom_objects(*plan_, someone, letter, {picture()});
    ASSERT_TRUE(one && two);
    for (std::size_t n = 0; n < one->size(); ++n) EXPECT_EQ((*one)[n].bytes, (*two)[n].bytes);
}

TEST_F(DicomObjects, RefuseWhatIsNoDateNameUidOrLetter) {
    const auto sentence = [&](auto change, const std::string& pdf = letter) {
        DicomSubject subject = someone;
        change(subject);
        const auto objects = dicom_objects(*plan_, subject, pdf);
        return objects ? "no error" : objects.error().sentence();
    };
    EXPECT_THAT(sentence([](DicomSubject& s) { s.birth_date = "3.2.90"; }), HasSubstr("a date"));
    EXPECT_THAT(sentence([](DicomSubject& s) { s.issued = "today"; }), HasSubstr("a time"));
    EXPECT_THAT(sentence([](DicomSubject& s) { s.study.study_uid = "1.2.x"; }), HasSubstr("UID"));
    EXPECT_THAT(sentence([](DicomSubject& s) { s.study.frame_uid = "1.2.x"; }), HasSubstr("UID"));
    EXPECT_THAT(sentence([](DicomSubject& s) { s.family = "A\\B"; }), HasSubstr("name"));
    EXPECT_THAT(sentence([](DicomSubject&) {}, "hello"), HasSubstr("not a PDF"));
}

TEST(DicomNode, IsTitleHostAndPort) {
    const auto node = parse_dicom_node("ARCHIVE@127.0.0.1:4242");
    ASSERT_TRUE(node);
    EXPECT_EQ(node->called, "ARCHIVE");
    EXPECT_EQ(node->host, "127.0.0.1");
    EXPECT_EQ(node->port, 4242);
    for (const char* bad : {"", "A@b", "A@b:0", "A@b:65536", "@b:1", "A@:1", "A@b:1;x", "A@b c:1",
                            "SEVENTEENLETTERS1@b:1"}) {
        EXPECT_FALSE(parse_dicom_node(bad)) << bad;
    }
}

/// storescp of dcmtk as the other side; takes a free port by trying.
class Receiver {
  public:
    explicit Receiver(const fs::path& into) {
        for (port = 41000 + int(::getpid() % 1000); port < 43000; port += 7) {
            std::vector<std::string> words{"storescp", "-od",   into.string(),
                                           "-aet",     "STORE", std::to_string(port)};
            std::vector<char*> arguments;
            for (std::string& word : words) arguments.push_back(word.data());
            arguments.push_back(nullptr);
            if (::posix_spawnp(&pid_, "storescp", nullptr, nullptr, arguments.data(), environ) != 0)
                return;
            std::this_thread::sleep_for(std::chrono::milliseconds(500));
            if (::waitpid(pid_, nullptr, WNOHANG) == 0) return;
            pid_ = -1;
        }
    }
    Receiver(const Receiver&) = delete;
    Receiver& operator=(const Receiver&) = delete;
    ~Receiver() {
        if (pid_ <= 0) return;
        ::kill(pid_, SIGTERM);
        ::waitpid(pid_, nullptr, 0);
    }
    int port = 0;

  private:
    pid_t pid_ = -1;
};

TEST_F(DicomObjects, ArriveAtAnotherProgram) {
    write(someone);
    fs::create_directory(folder_ / "there");
    const Receiver receiver(folder_ / "there");
    const DicomNode node{.host = "127.0.0.1", .port = receiver.port, .called = "STORE"};
    std::vector<fs::path> files;
    for (const char* name : names) files.push_back(folder_ / name);
    const auto sent = send_dicom(files, node);
    ASSERT_TRUE(sent) << sent.error().sentence();
    std::size_t arrived = 0;
    for (const auto& entry : fs::directory_iterator(folder_ / "there")) {
        ++arrived;
        EXPECT_TRUE(print_of("dcmdump " + entry.path().string()).good);
    }
    EXPECT_EQ(arrived, files.size());
}

TEST_F(DicomObjects, SayWhenNoOneIsThere) {
    write(someone);
    const DicomNode nowhere{.host = "127.0.0.1", .port = 1, .called = "STORE"};
    const auto sent = send_dicom({folder_ / "letter.dcm"}, nowhere);
    ASSERT_FALSE(sent);
    EXPECT_THAT(sent.error().sentence(), HasSubstr("STORE@127.0.0.1:1"));
    std::ofstream(folder_ / "text.dcm") << "hello";
    const auto text = send_dicom({folder_ / "text.dcm"}, nowhere);
    ASSERT_FALSE(text);
    EXPECT_THAT(text.error().sentence(), HasSubstr("not a DICOM file"));
}

}  // namespace
}  // namespace anfract
