#pragma once

#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

namespace anfract::cli {

/// What one run of a command left behind.
struct Outcome {
    int code = -1;
    std::string out;
    std::string err;
};

inline std::string slurp(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

/// A folder of its own for one test program, removed at its end.
class Scratch {
  public:
    Scratch() {
        std::string name = (std::filesystem::temp_directory_path() / "anfract-cli-XXXXXX").string();
        path_ = mkdtemp(name.data());
    }
    Scratch(const Scratch&) = delete;
    Scratch& operator=(const Scratch&) = delete;
    ~Scratch() { std::filesystem::remove_all(path_); }
    const std::filesystem::path& path() const { return path_; }

  private:
    std::filesystem::path path_;
};

/// Runs `command` in a shell with ANFRACT set to the program under test and the scratch folder as
/// $D.
inline Outcome shell(const Scratch& scratch, const std::string& command) {
    const auto out = scratch.path() / ".out";
    const auto err = scratch.path() / ".err";
    setenv("ANFRACT", ANFRACT_PROGRAM, 1);
    setenv("D", scratch.path().c_str(), 1);
    const int status =
        std::system(("( " + command + " ) >" + out.string() + " 2>" + err.string()).c_str());
    return {WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status), slurp(out),
            slurp(err)};
}

}  // namespace anfract::cli
