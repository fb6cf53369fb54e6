#pragma once

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "anfract/base/file.h"

namespace anfract::testing {

/// A PDF in a folder of its own, looked at with poppler's programs: a reader that is not ours.
class PdfFile {
  public:
    explicit PdfFile(const std::string& bytes) {
        std::string name =
            (std::filesystem::temp_directory_path() / "anfract-letter-XXXXXX").string();
        folder_ = mkdtemp(name.data());
        (void)write_file_atomically(folder_ / "letter.pdf", bytes);
    }
    ~PdfFile() { std::filesystem::remove_all(folder_); }
    PdfFile(const PdfFile&) = delete;
    PdfFile& operator=(const PdfFile&) = delete;

    /// Output of `program options letter.pdf rest`.
    std::string run(const std::string& program, const std::string& rest = "") const {
        const std::string command = program + " " + (folder_ / "letter.pdf").string() + " " + rest;
        std::string output;
        FILE* pipe = popen(command.c_str(), "r");
        if (!pipe) return output;
        char buffer[4096];
        while (std::size_t count = fread(buffer, 1, sizeof buffer, pipe))
            output.append(buffer, count);
        pclose(pipe);
        return output;
    }

  private:
    std::filesystem::path folder_;
};

struct Word {
    int page = 0;
    double x0 = 0, y0 = 0, x1 = 0, y1 = 0;
    std::string text;
};

/// Every word of a PDF with its box, as `pdftotext -bbox` sees it (points, y down).
inline std::vector<Word> words_of(const PdfFile& pdf) {
    std::vector<Word> words;
    std::istringstream lines(pdf.run("pdftotext -bbox", "-"));
    std::string line;
    int page = 0;
    while (std::getline(lines, line)) {
        if (line.find("<page ") != std::string::npos) ++page;
        Word word;
        word.page = page;
        if (std::sscanf(line.c_str(), " <word xMin=\"%lf\" yMin=\"%lf\" xMax=\"%lf\" yMax=\"%lf\">",
                        &word.x0, &word.y0, &word.x1, &word.y1) != 4) {
            continue;
        }
        const auto from = line.find('>') + 1;
        word.text = line.substr(from, line.find("</word>") - from);
        words.push_back(word);
    }
    return words;
}

}  // namespace anfract::testing
