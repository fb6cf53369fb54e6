#include <arpa/inet.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <spawn.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <thread>

#include "series_maker.h"

extern char** environ;

// Data and programs from outside this project: the test files of the Debian package python3-pydicom
// when they are on the machine (they are never copied), and DCMTK's network tools.
namespace anfract {

using test::open;
using test::Series;
using test::TestFolder;

namespace {

const test::fs::path pydicom = "/usr/lib/python3/dist-packages/pydicom/data/test_files";

int free_port() {
    const int fd = ::socket(AF_INET, SOCK_STREAM, 0);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    socklen_t length = sizeof address;
    EXPECT_EQ(::bind(fd, reinterpret_cast<sockaddr*>(&address), length), 0);
    ::getsockname(fd, reinterpret_cast<sockaddr*>(&address), &length);
    ::close(fd);
    return ntohs(address.sin_port);
}

bool listens(int port) {
    const int fd = ::socket(AF_INET, SOCK_STREAM, 0);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    address.sin_port = htons(std::uint16_t(port));
    const bool yes = ::connect(fd, reinterpret_cast<sockaddr*>(&address), sizeof address) == 0;
    ::close(fd);
    return yes;
}

}  // namespace

TEST(OutsideData, SurvivesEveryTestFileOfPydicom) {
    if (!test::fs::exists(pydicom)) GTEST_SKIP() << "python3-pydicom is not installed";
    int seen = 0;
    int read = 0;
    for (const auto& entry : test::fs::recursive_directory_iterator(pydicom)) {
        if (!entry.is_regular_file()) continue;
        ++seen;
        const auto scan = open(entry.path());
        read += scan.has_value();
        if (scan) continue;
        EXPECT_EQ(scan.error().sentence().find('\n'), std::string::npos) << entry.path();
    }
    EXPECT_GT(seen, 20);
    EXPECT_GT(read, 5);
}

// One MR slice that others have written in eight encodings.
TEST(OutsideData, ReadsTheSameImageFromEachEncodingOfPydicomsFiles) {
    if (!test::fs::exists(pydicom / "MR_small.dcm")) {
        GTEST_SKIP() << "python3-pydicom is not installed";
    }
    const auto groups = std::vector<std::vector<std::string>>{
        {"MR_small.dcm", "MR_small_bigendian.dcm", "MR_small_implicit.dcm", "MR_small_expb.dcm",
         "MR_small_RLE.dcm", "MR_small_jpeg_ls_lossless.dcm", "MR_small_jp2klossless.dcm",
         "MR_small_padded.dcm"}};
    for (const auto& group : groups) {
        const auto native = open(pydicom / group.front());
        ASSERT_TRUE(native) << native.error().sentence();
        int compared = 0;
        for (const std::string& name : group) {
            if (!test::fs::exists(pydicom / name)) continue;
            SCOPED_TRACE(name);
            const auto coded = open(pydicom / name);
            ASSERT_TRUE(coded) << coded.error().sentence();
            test::expect_same(coded->volume, native->volume);
            ++compared;
        }
        EXPECT_GE(compared, 4);
    }
}

// The CT slice of pydicom's test data: 128 x 128, rescale intercept -1024, first pixel 175 as its
// documentation prints (pixel_array[0, 0] of CT_small.dcm).
TEST(OutsideData, ReadsPydicomsCtSlice) {
    if (!test::fs::exists(pydicom / "CT_small.dcm"))
        GTEST_SKIP() << "python3-pydicom is not installed";
    const auto scan = open(pydicom / "CT_small.dcm");
    ASSERT_TRUE(scan) << scan.error().sentence();
    EXPECT_EQ(scan->volume.geometry.size, (std::array<int, 3>{128, 128, 1}));
    EXPECT_EQ(scan->volume.voxels[0], 175);
    EXPECT_EQ(scan->volume.grey(0, 0, 0), 175 - 1024);
}

TEST(OutsideData, ASeriesSentOverTheNetworkIsTheSeries) {
    const TestFolder folder;
    Series series;
    series.size[2] = 12;
    test::write_series(folder / "sent", series);
    test::fs::create_directory(folder / "got");
    const int port = free_port();
    // Without it Debian's DCMTK waits for delayed acknowledgements with every slice.
    ::setenv("TCP_NODELAY", "1", 1);
    const std::string got = (folder / "got").string();
    const std::string port_text = std::to_string(port);
    const char* const arguments[] = {"storescp", "-od", got.c_str(), port_text.c_str(), nullptr};
    pid_t server = 0;
    ASSERT_EQ(::posix_spawnp(&server, "storescp", nullptr, nullptr, const_cast<char**>(arguments),
                             environ),
              0);
    bool ready = false;
    for (int tries = 0; tries < 100 && !ready; ++tries) {
        std::this_thread::sleep_for(std::chrono::milliseconds(100));
        ready = listens(port);
    }
    const int sent =
        ready ? test::run("storescu 127.0.0.1 " + port_text + " +sd " + (folder / "sent").string())
              : -1;
    ::kill(server, SIGTERM);
    ::waitpid(server, nullptr, 0);
    ASSERT_TRUE(ready);
    ASSERT_EQ(sent, 0);
    const auto scan = open(folder / "got");
    ASSERT_TRUE(scan) << scan.error().sentence();
    test::expect_same(scan->volume, test::truth_of(series));
}

}  // namespace anfract
