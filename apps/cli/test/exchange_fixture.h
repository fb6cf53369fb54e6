#pragma once

#include <fcntl.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <spawn.h>

#include <chrono>
#include <functional>
#include <memory>
#include <thread>
#include <vector>

#include "anfract/record/record.h"
#include "command_line.h"

extern char** environ;

namespace anfract::cli {

namespace fs = std::filesystem;

/// A program that runs until it goes out of scope; its output goes to a file.
class Background {
  public:
    Background(std::vector<std::string> words, const fs::path& out) {
        std::vector<char*> arguments;
        for (std::string& word : words) arguments.push_back(word.data());
        arguments.push_back(nullptr);
        posix_spawn_file_actions_t actions;
        posix_spawn_file_actions_init(&actions);
        posix_spawn_file_actions_addopen(&actions, 1, out.c_str(), O_WRONLY | O_CREAT | O_TRUNC,
                                         0600);
        posix_spawn_file_actions_adddup2(&actions, 1, 2);
        if (posix_spawnp(&pid_, arguments[0], &actions, nullptr, arguments.data(), environ) != 0)
            pid_ = -1;
        posix_spawn_file_actions_destroy(&actions);
    }
    Background(const Background&) = delete;
    Background& operator=(const Background&) = delete;
    ~Background() { stop(); }
    /// The exit code after SIGTERM.
    int stop() {
        if (pid_ <= 0) return -1;
        kill(pid_, SIGTERM);
        int status = 0;
        waitpid(pid_, &status, 0);
        pid_ = -1;
        return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
    }
    bool runs() const { return pid_ > 0 && waitpid(pid_, nullptr, WNOHANG) == 0; }

  private:
    pid_t pid_ = -1;
};

class Exchange : public testing::Test {
  protected:
    static void SetUpTestSuite() {
        scratch_ = new Scratch;
        ASSERT_EQ(run("$ANFRACT phantom lower-premolar --out $D/case --seed 3 --voxel 0.3").code,
                  0);
        // One key for both sides, for the test only.
        ASSERT_EQ(run("openssl req -x509 -newkey rsa:2048 -nodes -keyout $D/key.pem -out "
                      "$D/cert.pem -days 2 "
                      "-subj /CN=localhost -addext subjectAltName=IP:127.0.0.1")
                      .code,
                  0);
    }
    static void TearDownTestSuite() { delete scratch_; }
    void SetUp() override {
        fs::remove_all(path("data"));
        setenv("TCP_NODELAY", "1", 1);
    }
    static Outcome run(const std::string& command) { return shell(*scratch_, command); }
    static fs::path path(const std::string& name) { return scratch_->path() / name; }

    static bool wait_for(const std::function<bool()>& true_now, int seconds = 60) {
        for (int i = 0; i < seconds * 20; ++i) {
            if (true_now()) return true;
            std::this_thread::sleep_for(std::chrono::milliseconds(50));
        }
        return false;
    }
    /// A listener on `port_`.
    std::unique_ptr<Background> listener(const std::vector<std::string>& more = {}) {
        return listener_to("SENDER@127.0.0.1", "data", "listen.txt", port_, more);
    }
    /// A listener on a free port, found by trying.
    static std::unique_ptr<Background> listener_to(const std::string& caller,
                                                   const std::string& data, const std::string& out,
                                                   int& port,
                                                   const std::vector<std::string>& more = {}) {
        const auto listens = [&] { return heard("listening as", out); };
        for (port = 30000 + int(getpid() % 10000); port < 45000; port += 13) {
            std::vector<std::string> words{
                ANFRACT_PROGRAM, "listen", "--port", std::to_string(port),
                "--allow",       caller,   "--data", path(data),
                "--quiet",       "0.3"};
            words.insert(words.end(), more.begin(), more.end());
            auto program = std::make_unique<Background>(words, path(out));
            if (wait_for([&] { return listens() || !program->runs(); }) && listens())
                return program;
        }
        return nullptr;
    }
    /// A server of a data directory, on a port that it chose.
    std::unique_ptr<Background> server(const std::string& data, std::uint16_t& port) {
        const fs::path out = path("serve-" + data + ".txt");
        auto program = std::make_unique<Background>(
            std::vector<std::string>{ANFRACT_PROGRAM, "serve", "--port", "0", "--data", path(data)},
            out);
        const std::string before = "serving http://127.0.0.1:";
        wait_for([&] { return slurp(out).find('\n') != std::string::npos; });
        const std::string said = slurp(out);
        if (!said.starts_with(before)) return nullptr;
        port = std::uint16_t(std::stoi(said.substr(before.size())));
        return program;
    }
    static bool heard(const std::string& words, const std::string& out = "listen.txt") {
        return slurp(path(out)).find(words) != std::string::npos;
    }
    std::string to() const { return " 127.0.0.1 " + std::to_string(port_) + " "; }
    static std::vector<record::KeptScan> scans(const std::string& data = "data") {
        const auto record = record::Record::open(record::RecordPlace::below(path(data)));
        return record ? (*record)->scans().list().value() : std::vector<record::KeptScan>();
    }
    /// The file of a scan under the name by which readers know it.
    static fs::path file_of(const record::KeptScan& scan, const std::string& data) {
        const auto vault = record::FileVault::at(path(data) / "files");
        fs::copy_file(vault.path(scan.sha256), path("landed-" + scan.name),
                      fs::copy_options::overwrite_existing);
        return path("landed-" + scan.name);
    }
    /// What survey says of a scan but for where it lies.
    static nlohmann::json survey(const fs::path& scan) {
        const Outcome told = run("$ANFRACT survey " + scan.string());
        EXPECT_EQ(told.code, 0) << told.err;
        auto document = nlohmann::json::parse(told.out, nullptr, false);
        if (document.is_object()) {
            document.erase("scan");
            document.erase("path");
        }
        return document;
    }

    inline static Scratch* scratch_ = nullptr;
    int port_ = 0;
};

}  // namespace anfract::cli
