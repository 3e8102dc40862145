using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class DropsAndLetters : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "DropDay",
                table: "Shops",
                type: "TEXT",
                nullable: false,
                defaultValue: "1");

            migrationBuilder.AddColumn<string>(
                name: "DropTime",
                table: "Shops",
                type: "TEXT",
                nullable: false,
                defaultValue: "09:00");

            migrationBuilder.AddColumn<long>(
                name: "HeldSince",
                table: "Shops",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "DropMonths",
                table: "Releases",
                type: "TEXT",
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<long>(
                name: "AboutId",
                table: "Outbox",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "PersonId",
                table: "Outbox",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "DropId",
                table: "Downloads",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "LetterKey",
                table: "AspNetUsers",
                type: "TEXT",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "DropId",
                table: "Archives",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.CreateTable(
                name: "Deletions",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    PersonId = table.Column<long>(type: "INTEGER", nullable: false),
                    At = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Deletions", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "DropReleases",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    DropId = table.Column<long>(type: "INTEGER", nullable: false),
                    ReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    Place = table.Column<int>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_DropReleases", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Drops",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    Month = table.Column<string>(type: "TEXT", nullable: false),
                    Title = table.Column<string>(type: "TEXT", nullable: false),
                    Note = table.Column<string>(type: "TEXT", nullable: false),
                    Day = table.Column<string>(type: "TEXT", nullable: false),
                    Time = table.Column<string>(type: "TEXT", nullable: false),
                    Zone = table.Column<string>(type: "TEXT", nullable: false),
                    DueAt = table.Column<long>(type: "INTEGER", nullable: false),
                    State = table.Column<string>(type: "TEXT", nullable: false),
                    SentAt = table.Column<long>(type: "INTEGER", nullable: true),
                    Trouble = table.Column<string>(type: "TEXT", nullable: true),
                    SlippedAt = table.Column<long>(type: "INTEGER", nullable: true),
                    SlippedBecause = table.Column<string>(type: "TEXT", nullable: false),
                    CreatedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    Revision = table.Column<int>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Drops", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Followers",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    LibraryId = table.Column<long>(type: "INTEGER", nullable: false),
                    Email = table.Column<string>(type: "TEXT", nullable: false),
                    NormalizedEmail = table.Column<string>(type: "TEXT", nullable: false),
                    Key = table.Column<string>(type: "TEXT", nullable: false),
                    AskedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    ConfirmedAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Followers", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "JobRuns",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    Name = table.Column<string>(type: "TEXT", nullable: false),
                    StartedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    EndedAt = table.Column<long>(type: "INTEGER", nullable: true),
                    Trouble = table.Column<string>(type: "TEXT", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_JobRuns", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "MailRefusals",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    PersonId = table.Column<long>(type: "INTEGER", nullable: false),
                    Kind = table.Column<string>(type: "TEXT", nullable: false),
                    At = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MailRefusals", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "MailSuppressions",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    NormalizedEmail = table.Column<string>(type: "TEXT", nullable: false),
                    Because = table.Column<string>(type: "TEXT", nullable: false),
                    At = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MailSuppressions", x => x.Id);
                });

            migrationBuilder.CreateIndex(
                name: "IX_Outbox_PersonId",
                table: "Outbox",
                column: "PersonId");

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_DropId",
                table: "Downloads",
                column: "DropId");

            migrationBuilder.CreateIndex(
                name: "IX_AspNetUsers_LetterKey",
                table: "AspNetUsers",
                column: "LetterKey",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Archives_DropId",
                table: "Archives",
                column: "DropId",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_DropReleases_DropId",
                table: "DropReleases",
                column: "DropId");

            migrationBuilder.CreateIndex(
                name: "IX_DropReleases_ReleaseId",
                table: "DropReleases",
                column: "ReleaseId",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Drops_Month",
                table: "Drops",
                column: "Month",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Followers_Key",
                table: "Followers",
                column: "Key",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Followers_LibraryId_NormalizedEmail",
                table: "Followers",
                columns: new[] { "LibraryId", "NormalizedEmail" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_JobRuns_Name",
                table: "JobRuns",
                column: "Name",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_MailRefusals_PersonId_Kind",
                table: "MailRefusals",
                columns: new[] { "PersonId", "Kind" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_MailSuppressions_NormalizedEmail",
                table: "MailSuppressions",
                column: "NormalizedEmail",
                unique: true);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "Deletions");

            migrationBuilder.DropTable(
                name: "DropReleases");

            migrationBuilder.DropTable(
                name: "Drops");

            migrationBuilder.DropTable(
                name: "Followers");

            migrationBuilder.DropTable(
                name: "JobRuns");

            migrationBuilder.DropTable(
                name: "MailRefusals");

            migrationBuilder.DropTable(
                name: "MailSuppressions");

            migrationBuilder.DropIndex(
                name: "IX_Outbox_PersonId",
                table: "Outbox");

            migrationBuilder.DropIndex(
                name: "IX_Downloads_DropId",
                table: "Downloads");

            migrationBuilder.DropIndex(
                name: "IX_AspNetUsers_LetterKey",
                table: "AspNetUsers");

            migrationBuilder.DropIndex(
                name: "IX_Archives_DropId",
                table: "Archives");

            migrationBuilder.DropColumn(
                name: "DropDay",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "DropTime",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "HeldSince",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "DropMonths",
                table: "Releases");

            migrationBuilder.DropColumn(
                name: "AboutId",
                table: "Outbox");

            migrationBuilder.DropColumn(
                name: "PersonId",
                table: "Outbox");

            migrationBuilder.DropColumn(
                name: "DropId",
                table: "Downloads");

            migrationBuilder.DropColumn(
                name: "LetterKey",
                table: "AspNetUsers");

            migrationBuilder.DropColumn(
                name: "DropId",
                table: "Archives");
        }
    }
}
