#include <gtest/gtest.h>

#include "series_maker.h"

namespace anfract {

/// Inputs that fuzzing starts from, and those with which it once broke a reader.
TEST(FuzzSeeds, AreReadOrRefusedInOneSentence) {
    std::size_t read = 0;
    for (const auto& entry :
         test::fs::directory_iterator(test::fs::path(ANFRACT_SOURCE_DIR) / "fuzz/seeds/scan")) {
        const Result<OpenedScan> scan = test::open(entry.path());
        if (scan) {
            ++read;
            EXPECT_EQ(scan->volume.voxels.size(), scan->volume.geometry.voxel_count());
            continue;
        }
        const std::string sentence = scan.error().sentence();
        EXPECT_EQ(sentence.find('\n'), std::string::npos) << sentence;
        // A reader that breaks is caught by the jail, but is to be mended all the same.
        EXPECT_EQ(sentence.find("reading it was stopped"), std::string::npos) << sentence;
        EXPECT_EQ(sentence.find("crashed"), std::string::npos) << sentence;
    }
    EXPECT_GE(read, 13u) << "the seeds that are whole";
}

/// Inputs that break a library we cannot mend: the reading process may crash on them, and nothing
/// more. rle-offset.dcm: DCMTK 3.6.7 reads past the end of an RLE fragment.
TEST(FuzzSeeds, ThatBreakALibraryStayInTheJail) {
    for (const auto& entry : test::fs::directory_iterator(test::fs::path(ANFRACT_SOURCE_DIR) /
                                                          "fuzz/seeds/contained")) {
        const Result<OpenedScan> scan = test::open(entry.path());
        ASSERT_FALSE(scan) << entry.path();
        EXPECT_EQ(scan.error().sentence().find('\n'), std::string::npos);
    }
}

}  // namespace anfract
