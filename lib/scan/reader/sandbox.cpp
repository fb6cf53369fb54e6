#include "sandbox.h"

#include <fcntl.h>
#include <linux/sched.h>
#include <seccomp.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <memory>

namespace anfract {
namespace {

constexpr rlim_t largest_file = rlim_t{8} << 30;  // the memory file is the only one written
constexpr rlim_t most_open_files = 256;

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
constexpr bool sanitized = true;  // their shadow memory takes more than any limit
#else
constexpr bool sanitized = false;
#endif

bool limit(int what, rlim_t soft, rlim_t hard) {
    const rlimit value{soft, hard};
    return ::setrlimit(static_cast<__rlimit_resource>(what), &value) == 0;
}

/// Address space that libraries and stack take already.
rlim_t taken_bytes() {
    unsigned long pages = 0;
    if (FILE* const file = std::fopen("/proc/self/statm", "r")) {
        if (std::fscanf(file, "%lu", &pages) != 1) pages = 0;
        std::fclose(file);
    }
    return rlim_t{pages} * rlim_t(::sysconf(_SC_PAGESIZE));
}

bool limit_resources(const ReaderLimits& limits) {
    const auto machine = rlim_t(::sysconf(_SC_PHYS_PAGES)) * rlim_t(::sysconf(_SC_PAGESIZE));
    const rlim_t memory =
        taken_bytes() + (limits.memory_bytes == 0 ? machine : limits.memory_bytes);
    return (sanitized || limit(RLIMIT_AS, memory, memory)) && limit(RLIMIT_CORE, 0, 0) &&
           limit(RLIMIT_CPU, limits.cpu_s, limits.cpu_s + 5) &&
           limit(RLIMIT_FSIZE, largest_file, largest_file) &&
           limit(RLIMIT_NOFILE, most_open_files, most_open_files);
}

/// Only advice, so that a refusal is no failure.
void be_first_to_go() {
    if (FILE* const file = std::fopen("/proc/self/oom_score_adj", "w")) {
        std::fputs("1000", file);
        std::fclose(file);
    }
}

/// Calls that can do no harm whatever their arguments.
constexpr int harmless[] = {
    SCMP_SYS(read),
    SCMP_SYS(pread64),
    SCMP_SYS(readv),
    SCMP_SYS(write),
    SCMP_SYS(pwrite64),
    SCMP_SYS(writev),
    SCMP_SYS(close),
    SCMP_SYS(lseek),
    SCMP_SYS(fstat),
    SCMP_SYS(stat),
    SCMP_SYS(lstat),
    SCMP_SYS(newfstatat),
    SCMP_SYS(statx),
    SCMP_SYS(access),
    SCMP_SYS(faccessat),
    SCMP_SYS(faccessat2),
    SCMP_SYS(readlink),
    SCMP_SYS(readlinkat),
    SCMP_SYS(getcwd),
    SCMP_SYS(getdents64),
    SCMP_SYS(ftruncate),
    SCMP_SYS(fadvise64),
    SCMP_SYS(munmap),
    SCMP_SYS(mremap),
    SCMP_SYS(madvise),
    SCMP_SYS(brk),
    SCMP_SYS(futex),
    SCMP_SYS(set_robust_list),
    SCMP_SYS(rseq),
    SCMP_SYS(sched_yield),
    SCMP_SYS(sched_getaffinity),
    SCMP_SYS(sched_getparam),
    SCMP_SYS(sched_getscheduler),
    SCMP_SYS(getpid),
    SCMP_SYS(gettid),
    SCMP_SYS(getppid),
    SCMP_SYS(getuid),
    SCMP_SYS(geteuid),
    SCMP_SYS(getgid),
    SCMP_SYS(getegid),
    SCMP_SYS(uname),
    SCMP_SYS(sysinfo),
    SCMP_SYS(getrusage),
    SCMP_SYS(times),
    SCMP_SYS(clock_gettime),
    SCMP_SYS(clock_getres),
    SCMP_SYS(gettimeofday),
    SCMP_SYS(time),
    SCMP_SYS(nanosleep),
    SCMP_SYS(clock_nanosleep),
    SCMP_SYS(getrandom),
    SCMP_SYS(rt_sigprocmask),
    SCMP_SYS(rt_sigaction),
    SCMP_SYS(rt_sigreturn),
    SCMP_SYS(sigaltstack),
    SCMP_SYS(restart_syscall),
    SCMP_SYS(exit),
    SCMP_SYS(exit_group),
    SCMP_SYS(pipe),  // with which sanitizers try an address
    SCMP_SYS(pipe2),
};

std::string limit_calls() {
    const std::unique_ptr<void, decltype(&seccomp_release)> filter(
        seccomp_init(SCMP_ACT_KILL_PROCESS), seccomp_release);
    if (!filter) return "no filter for system calls can be made";
    bool good = true;
    const auto allow = [&](int call) {
        good = good && seccomp_rule_add_array(filter.get(), SCMP_ACT_ALLOW, call, 0, nullptr) == 0;
    };
    const auto allow_if = [&](int call, scmp_arg_cmp condition) {
        good =
            good && seccomp_rule_add_array(filter.get(), SCMP_ACT_ALLOW, call, 1, &condition) == 0;
    };
    const auto answer = [&](int call, int error) {
        good = good && seccomp_rule_add_array(filter.get(), SCMP_ACT_ERRNO(std::uint32_t(error)),
                                              call, 0, nullptr) == 0;
    };
    for (const int call : harmless) allow(call);
    // Files are opened for reading only.
    constexpr scmp_datum_t changing = O_ACCMODE | O_CREAT | O_TRUNC | O_APPEND;
    allow_if(SCMP_SYS(open), SCMP_A1(SCMP_CMP_MASKED_EQ, changing, O_RDONLY));
    allow_if(SCMP_SYS(openat), SCMP_A2(SCMP_CMP_MASKED_EQ, changing, O_RDONLY));
    // Memory is never executable.
    allow_if(SCMP_SYS(mmap), SCMP_A2(SCMP_CMP_MASKED_EQ, 4 /* PROT_EXEC */, 0));
    allow_if(SCMP_SYS(mprotect), SCMP_A2(SCMP_CMP_MASKED_EQ, 4 /* PROT_EXEC */, 0));
    // Threads, but no processes. The flags of clone3 lie in memory, where a filter cannot look: the
    // C library falls back to clone when it is told that there is no clone3.
    allow_if(SCMP_SYS(clone), SCMP_A0(SCMP_CMP_MASKED_EQ, CLONE_THREAD, CLONE_THREAD));
    answer(SCMP_SYS(clone3), ENOSYS);
    // The socket that is there, but no address.
    allow_if(SCMP_SYS(sendto), SCMP_A4(SCMP_CMP_EQ, 0));
    // Questions whose answer may be no.
    answer(SCMP_SYS(ioctl), ENOTTY);
    allow_if(SCMP_SYS(fcntl), SCMP_A1(SCMP_CMP_EQ, F_GETFL));
    allow_if(SCMP_SYS(fcntl), SCMP_A1(SCMP_CMP_EQ, F_SETFD));
    allow_if(SCMP_SYS(fcntl), SCMP_A1(SCMP_CMP_EQ, F_GETFD));
    allow_if(SCMP_SYS(prctl), SCMP_A0(SCMP_CMP_EQ, PR_SET_NAME));
    allow_if(SCMP_SYS(prlimit64), SCMP_A2(SCMP_CMP_EQ, 0));
    answer(SCMP_SYS(getrlimit), EPERM);
    // abort() signals this process; no other can be meant.
    const auto self = scmp_datum_t(::getpid());
    allow_if(SCMP_SYS(tgkill), SCMP_A0(SCMP_CMP_EQ, self));
    if (!good || seccomp_load(filter.get()) != 0) return "the system calls cannot be limited";
    return {};
}

}  // namespace

std::string enter_sandbox(const ReaderLimits& limits) {
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);
    be_first_to_go();
    if (::prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0) return "privileges cannot be given up";
    ::prctl(PR_SET_DUMPABLE, 0);
    if (!limit_resources(limits)) return "memory and time cannot be limited";
    return limit_calls();
}

}  // namespace anfract
