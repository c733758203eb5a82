// Preloaded into an unchanged driver: makes a log's disk slow or bad by plan, and writes down what
// was written, synced and acknowledged in which order.
//
// BAD_DISK_TRACE names the file to append to, one line an event:
//   write BYTES SIZE     a write to a log returned BYTES (-1: failed); SIZE is the log's size after
//   it sync RESULT SIZE     a sync of a log returned RESULT; SIZE was the log's size when it was
//   asked for cut SIZE             the log was cut ack SEQ              an acknowledgement was
//   about to be written to the line
// BAD_DISK_PLAN is `CALL@N=WHAT` with commas between: CALL `write` or `sync` (of a log), N counts
// from 1 in this process, `N+` means from the N-th on; WHAT is `EIO`, `ENOSPC`, `short` (half of
// the bytes) or a delay in milliseconds.
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { most_path = 4096, most_ack = 16 };

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static int counted_writes;
static int counted_syncs;

static int is_log(int fd) {
    char link[64];
    char path[most_path];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    const ssize_t length = readlink(link, path, sizeof path - 1);
    if (length < 8)
        return 0;
    path[length] = '\0';
    return strcmp(path + length - 8, ".droplog") == 0;
}

static long long size_of(int fd) {
    struct stat found;
    return fstat(fd, &found) == 0 ? (long long)found.st_size : -1;
}

static ssize_t really_write(int fd, const void* bytes, size_t size) {
    static ssize_t (*next)(int, const void*, size_t);
    if (!next)
        next = (ssize_t(*)(int, const void*, size_t))dlsym(RTLD_NEXT, "write");
    return next(fd, bytes, size);
}

static void trace(const char* event, long long first, long long second) {
    const char* const path = getenv("BAD_DISK_TRACE");
    if (!path)
        return;
    const int file = open(path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
    char line[96];
    const int length = snprintf(line, sizeof line, "%s %lld %lld\n", event, first, second);
    if (file >= 0 && length > 0)
        (void)!really_write(file, line, (size_t)length);
    if (file >= 0)
        close(file);
}

// What the plan says of the n-th call, or an empty text.
static void planned(const char* call, int n, char* what, size_t room) {
    what[0] = '\0';
    const char* plan = getenv("BAD_DISK_PLAN");
    char name[8];
    int from = 0;
    char rest[32];
    for (; plan && *plan; plan = strchr(plan, ',') ? strchr(plan, ',') + 1 : "") {
        if (sscanf(plan, "%7[a-z]@%d%31[^,]", name, &from, rest) != 3 || strcmp(name, call) != 0)
            continue;
        const int goes_on = rest[0] == '+';
        if ((n == from || (goes_on && n > from)) && rest[goes_on] == '=')
            snprintf(what, room, "%s", rest + goes_on + 1);
    }
}

static void delay(const char* what) {
    const long milliseconds = strtol(what, NULL, 10);
    const struct timespec time = {milliseconds / 1000, milliseconds % 1000 * 1000000};
    if (milliseconds > 0)
        nanosleep(&time, NULL);
}

// The error that a plan asks for, 0 where it asks for none.
static int failure(const char* what) {
    if (strcmp(what, "EIO") == 0)
        return EIO;
    return strcmp(what, "ENOSPC") == 0 ? ENOSPC : 0;
}

static int counted(int* counter) {
    pthread_mutex_lock(&lock);
    const int n = ++*counter;
    pthread_mutex_unlock(&lock);
    return n;
}

static ssize_t write_log(int fd, const void* bytes, size_t size) {
    char what[32];
    planned("write", counted(&counted_writes), what, sizeof what);
    delay(what);
    const int problem = failure(what);
    const int half = strcmp(what, "short") == 0;
    const ssize_t written = problem ? -1 : really_write(fd, bytes, half ? (size + 1) / 2 : size);
    trace("write", (long long)written, size_of(fd));
    if (problem)
        errno = problem;
    return written;
}

// Acknowledgements are looked for in what goes to the line: `ack,SEQ*`.
static void trace_acks(const char* bytes, size_t size) {
    for (size_t i = 0; i + 4 < size; ++i) {
        if (memcmp(bytes + i, "ack,", 4) != 0 || (i > 0 && bytes[i - 1] != '\n'))
            continue;
        char digits[most_ack] = {0};
        memcpy(digits, bytes + i + 4,
               size - i - 4 < sizeof digits - 1 ? size - i - 4 : sizeof digits - 1);
        trace("ack", strtoll(digits, NULL, 10), 0);
    }
}

ssize_t write(int fd, const void* bytes, size_t size) {
    if (is_log(fd))
        return write_log(fd, bytes, size);
    if (isatty(fd))
        trace_acks(bytes, size);
    return really_write(fd, bytes, size);
}

static int sync_by(const char* name, int fd) {
    int (*next)(int) = (int (*)(int))dlsym(RTLD_NEXT, name);
    if (!is_log(fd))
        return next(fd);
    char what[32];
    planned("sync", counted(&counted_syncs), what, sizeof what);
    const long long size = size_of(fd);
    delay(what);
    const int problem = failure(what);
    const int result = problem ? -1 : next(fd);
    trace("sync", result, size);
    if (problem)
        errno = problem;
    return result;
}

int fsync(int fd) {
    return sync_by("fsync", fd);
}

int fdatasync(int fd) {
    return sync_by("fdatasync", fd);
}

int ftruncate(int fd, off_t size) {
    static int (*next)(int, off_t);
    if (!next)
        next = (int (*)(int, off_t))dlsym(RTLD_NEXT, "ftruncate");
    const int result = next(fd, size);
    if (is_log(fd) && result == 0)
        trace("cut", (long long)size, 0);
    return result;
}
