using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class PaidMemberships : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "AfterLeaving",
                table: "Shops",
                type: "TEXT",
                nullable: false,
                defaultValue: "PaidMonths");

            migrationBuilder.AddColumn<string>(
                name: "ConsentWords",
                table: "Shops",
                type: "TEXT",
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<string>(
                name: "TermsVersion",
                table: "Shops",
                type: "TEXT",
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<string>(
                name: "Month",
                table: "Libraries",
                type: "TEXT",
                nullable: true);

            migrationBuilder.CreateTable(
                name: "PaidMonths",
                columns: table => new
                {
                    PersonId = table.Column<long>(type: "INTEGER", nullable: false),
                    Month = table.Column<string>(type: "TEXT", nullable: false),
                    PaymentId = table.Column<string>(type: "TEXT", nullable: false),
                    OpensAt = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_PaidMonths", x => new { x.PersonId, x.Month });
                    table.ForeignKey(
                        name: "FK_PaidMonths_AspNetUsers_PersonId",
                        column: x => x.PersonId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "PaymentEvents",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    ProviderId = table.Column<string>(type: "TEXT", nullable: false),
                    Kind = table.Column<string>(type: "TEXT", nullable: false),
                    SubjectKind = table.Column<string>(type: "TEXT", nullable: true),
                    SubjectId = table.Column<string>(type: "TEXT", nullable: true),
                    ReceivedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    DoneAt = table.Column<long>(type: "INTEGER", nullable: true),
                    Tries = table.Column<int>(type: "INTEGER", nullable: false),
                    NextTryAt = table.Column<long>(type: "INTEGER", nullable: true),
                    Trouble = table.Column<string>(type: "TEXT", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_PaymentEvents", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Plans",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    Months = table.Column<int>(type: "INTEGER", nullable: false),
                    Minor = table.Column<long>(type: "INTEGER", nullable: false),
                    Currency = table.Column<string>(type: "TEXT", nullable: false),
                    IsTaxIncluded = table.Column<bool>(type: "INTEGER", nullable: false),
                    ProviderId = table.Column<string>(type: "TEXT", nullable: true),
                    CreatedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    ClosedAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Plans", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Joinings",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    Email = table.Column<string>(type: "TEXT", nullable: false),
                    NormalizedEmail = table.Column<string>(type: "TEXT", nullable: false),
                    PlanId = table.Column<long>(type: "INTEGER", nullable: false),
                    PersonId = table.Column<long>(type: "INTEGER", nullable: true),
                    ConsentWords = table.Column<string>(type: "TEXT", nullable: false),
                    ButtonWords = table.Column<string>(type: "TEXT", nullable: false),
                    TermsVersion = table.Column<string>(type: "TEXT", nullable: false),
                    AfterLeaving = table.Column<string>(type: "TEXT", nullable: false),
                    AgreedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    TokenHash = table.Column<string>(type: "TEXT", nullable: false),
                    CheckoutId = table.Column<string>(type: "TEXT", nullable: true),
                    PaidAt = table.Column<long>(type: "INTEGER", nullable: true),
                    IsNewPerson = table.Column<bool>(type: "INTEGER", nullable: false),
                    SignedInAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Joinings", x => x.Id);
                    table.ForeignKey(
                        name: "FK_Joinings_Plans_PlanId",
                        column: x => x.PlanId,
                        principalTable: "Plans",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                });

            migrationBuilder.CreateTable(
                name: "PaidMemberships",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    PersonId = table.Column<long>(type: "INTEGER", nullable: false),
                    PlanId = table.Column<long>(type: "INTEGER", nullable: true),
                    ProviderId = table.Column<string>(type: "TEXT", nullable: false),
                    CustomerId = table.Column<string>(type: "TEXT", nullable: false),
                    StartedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    PaidThrough = table.Column<long>(type: "INTEGER", nullable: true),
                    LeavesAt = table.Column<long>(type: "INTEGER", nullable: true),
                    EndedAt = table.Column<long>(type: "INTEGER", nullable: true),
                    IsPaused = table.Column<bool>(type: "INTEGER", nullable: false),
                    ActiveUntil = table.Column<long>(type: "INTEGER", nullable: false),
                    JoinedUnder = table.Column<string>(type: "TEXT", nullable: false),
                    AskedAt = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_PaidMemberships", x => x.Id);
                    table.ForeignKey(
                        name: "FK_PaidMemberships_AspNetUsers_PersonId",
                        column: x => x.PersonId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                    table.ForeignKey(
                        name: "FK_PaidMemberships_Plans_PlanId",
                        column: x => x.PlanId,
                        principalTable: "Plans",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                });

            migrationBuilder.CreateTable(
                name: "LeaveTickets",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    PaidMembershipId = table.Column<long>(type: "INTEGER", nullable: false),
                    TokenHash = table.Column<string>(type: "TEXT", nullable: false),
                    CreatedAt = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_LeaveTickets", x => x.Id);
                    table.ForeignKey(
                        name: "FK_LeaveTickets_PaidMemberships_PaidMembershipId",
                        column: x => x.PaidMembershipId,
                        principalTable: "PaidMemberships",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "Payments",
                columns: table => new
                {
                    Id = table.Column<string>(type: "TEXT", nullable: false),
                    PaidMembershipId = table.Column<long>(type: "INTEGER", nullable: false),
                    PersonId = table.Column<long>(type: "INTEGER", nullable: false),
                    Minor = table.Column<long>(type: "INTEGER", nullable: false),
                    Currency = table.Column<string>(type: "TEXT", nullable: false),
                    Months = table.Column<int>(type: "INTEGER", nullable: false),
                    PeriodStart = table.Column<long>(type: "INTEGER", nullable: false),
                    PeriodEnd = table.Column<long>(type: "INTEGER", nullable: false),
                    PaidAt = table.Column<long>(type: "INTEGER", nullable: false),
                    RefundedMinor = table.Column<long>(type: "INTEGER", nullable: false),
                    TakenBackAt = table.Column<long>(type: "INTEGER", nullable: true),
                    IsDisputeLost = table.Column<bool>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Payments", x => x.Id);
                    table.ForeignKey(
                        name: "FK_Payments_PaidMemberships_PaidMembershipId",
                        column: x => x.PaidMembershipId,
                        principalTable: "PaidMemberships",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                });

            migrationBuilder.CreateIndex(
                name: "IX_Joinings_CheckoutId",
                table: "Joinings",
                column: "CheckoutId");

            migrationBuilder.CreateIndex(
                name: "IX_Joinings_NormalizedEmail",
                table: "Joinings",
                column: "NormalizedEmail");

            migrationBuilder.CreateIndex(
                name: "IX_Joinings_PlanId",
                table: "Joinings",
                column: "PlanId");

            migrationBuilder.CreateIndex(
                name: "IX_Joinings_TokenHash",
                table: "Joinings",
                column: "TokenHash",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_LeaveTickets_PaidMembershipId",
                table: "LeaveTickets",
                column: "PaidMembershipId");

            migrationBuilder.CreateIndex(
                name: "IX_LeaveTickets_TokenHash",
                table: "LeaveTickets",
                column: "TokenHash",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_PaidMemberships_CustomerId",
                table: "PaidMemberships",
                column: "CustomerId");

            migrationBuilder.CreateIndex(
                name: "IX_PaidMemberships_PersonId_ActiveUntil",
                table: "PaidMemberships",
                columns: new[] { "PersonId", "ActiveUntil" });

            migrationBuilder.CreateIndex(
                name: "IX_PaidMemberships_PlanId",
                table: "PaidMemberships",
                column: "PlanId");

            migrationBuilder.CreateIndex(
                name: "IX_PaidMemberships_ProviderId",
                table: "PaidMemberships",
                column: "ProviderId",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_PaymentEvents_DoneAt",
                table: "PaymentEvents",
                column: "DoneAt");

            migrationBuilder.CreateIndex(
                name: "IX_PaymentEvents_ProviderId",
                table: "PaymentEvents",
                column: "ProviderId",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Payments_PaidMembershipId",
                table: "Payments",
                column: "PaidMembershipId");

            migrationBuilder.CreateIndex(
                name: "IX_Payments_PersonId",
                table: "Payments",
                column: "PersonId");

            migrationBuilder.CreateIndex(
                name: "IX_Plans_ProviderId",
                table: "Plans",
                column: "ProviderId",
                unique: true);

            // What first came out for members is the box of that month; the day is UTC's, as no zone is known here.
            migrationBuilder.Sql(
                """
                UPDATE "Libraries" SET "Month" = strftime('%Y-%m', (SELECT MIN(r."PublishedAt") FROM "Releases" r WHERE r."LibraryId" = "Libraries"."Id") / 1000, 'unixepoch')
                WHERE (SELECT a."Audience" FROM "AudienceDecisions" a WHERE a."LibraryId" = "Libraries"."Id" ORDER BY a."DecidedAt", a."Id" LIMIT 1) = 'Members'
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "Joinings");

            migrationBuilder.DropTable(
                name: "LeaveTickets");

            migrationBuilder.DropTable(
                name: "PaidMonths");

            migrationBuilder.DropTable(
                name: "PaymentEvents");

            migrationBuilder.DropTable(
                name: "Payments");

            migrationBuilder.DropTable(
                name: "PaidMemberships");

            migrationBuilder.DropTable(
                name: "Plans");

            migrationBuilder.DropColumn(
                name: "AfterLeaving",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "ConsentWords",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "TermsVersion",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "Month",
                table: "Libraries");
        }
    }
}
