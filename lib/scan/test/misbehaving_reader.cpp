// A reading process that an input has taken over: it does what the request names, inside the jail.
#include <fcntl.h>
#include <netinet/in.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/ptrace.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cstdint>
#include <cstdlib>
#include <fstream>
#include <map>
#include <new>
#include <string>
#include <thread>
#include <vector>

#include "parsed_scan.h"
#include "reader_host.h"

namespace anfract {
namespace {

using Deed = void (*)();

const std::map<std::string, Deed>& deeds() {
    static const std::map<std::string, Deed> all{
        {"socket", [] { (void)::socket(AF_INET, SOCK_STREAM, 0); }},
        {"write file", [] { (void)::open("/tmp/anfract-escape", O_WRONLY | O_CREAT, 0600); }},
        {"truncate file", [] { (void)::open("/tmp/anfract-escape", O_RDONLY | O_TRUNC); }},
        {"remove file", [] { (void)::unlink("/tmp/anfract-escape"); }},
        {"remove folder", [] { (void)::rmdir("/tmp/anfract-escape"); }},
        {"fork", [] { (void)::fork(); }},
        {"execute", [] { (void)::execl("/bin/true", "true", nullptr); }},
        {"kill", [] { (void)::kill(::getppid(), SIGTERM); }},
        {"trace", [] { (void)::ptrace(PTRACE_ATTACH, ::getppid(), nullptr, nullptr); }},
        {"executable memory",
         [] {
             (void)::mmap(nullptr, 4096, PROT_READ | PROT_EXEC, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
         }},
        {"crash", [] { ::raise(SIGSEGV); }},
        {"null",
         [] {
             volatile std::uintptr_t address = 8;
             *reinterpret_cast<int*>(address) = 1;
         }},
        {"abort", [] { std::abort(); }},
        {"spin",
         [] {
             volatile bool on = true;
             while (on) {
             }
         }},
        {"sleep", [] { ::sleep(1000); }},
        {"leave", [] { ::_exit(0); }},
    };
    return all;
}

/// Takes memory until there is none; says so.
std::string hungry() {
    try {
        std::vector<std::vector<char>> all;
        for (;;) all.emplace_back(std::size_t{1} << 26, 'x');
    } catch (const std::bad_alloc&) {
        return "out of memory";
    }
}

void misbehave(int call, int) {
    MessageKind kind{};
    std::string bytes;
    if (!receive_message(call, kind, bytes)) return;
    const auto request = unpack_request(bytes);
    if (!request) return;
    std::string reply = "nothing happened";
    if (request->where == "hungry") {
        reply = hungry();
    } else if (request->where == "half a message") {
        (void)!::write(call, "\x04\x10", 2);
        ::sleep(1000);
    } else if (request->where == "trickle") {
        (void)!::write(call, "\x04\x00\x10\x00\x00", 5);  // a reply of 4096 bytes
        for (int n = 0; n < 4096; ++n) {
            if (::write(call, "x", 1) != 1) return;
            std::this_thread::sleep_for(std::chrono::milliseconds(50));
        }
    } else if (request->where == "threads") {
        std::jthread other([&] { reply = "threads work"; });
    } else if (request->where == "read") {
        std::ifstream file("/proc/self/status");
        for (std::string line; std::getline(file, line);) {
            if (line.starts_with("NoNewPrivs:") || line.starts_with("Seccomp:")) reply += line;
        }
    } else if (const auto deed = deeds().find(request->where); deed != deeds().end()) {
        deed->second();
    }
    send_message(call, MessageKind::Reply, reply);
}

}  // namespace
}  // namespace anfract

int main() { return anfract::run_reader_host(STDIN_FILENO, anfract::misbehave); }
